//! Access as groups of the problem: a cover of the whole engine is one group, what comes off
//! cylinder by cylinder is one a cylinder, each for its share of the minutes and its own risk.
//!
//! Must not know checks or repairs.

use super::prices::Prices;
use crate::knowledge::{Access, Per};
use crate::planning::Group;

/// The groups of one engine.
pub(super) struct Covers {
    /// In the order of the access list, cylinders from 1.
    pub groups: Vec<Group>,
    /// First group of each access, and how many it has.
    places: Vec<(usize, usize)>,
}

impl Covers {
    pub(super) fn of(access: &[Access], cylinders: u8, prices: &Prices) -> Self {
        let mut groups = Vec::new();
        let mut places = Vec::new();
        for one in access {
            let name = one.id.get_ref();
            let all = f64::from(cylinders);
            let minutes = one.minutes + all * prices.damage(one.risk.as_ref());
            let group = |name: String, open_minutes| Group {
                name,
                open_minutes,
                stays_open: one.stays_open,
            };
            let first = groups.len();
            match one.per {
                Per::Engine => groups.push(group(name.clone(), minutes)),
                Per::Cylinder => {
                    let each = |c| group(format!("{name}:{c}"), minutes / all);
                    groups.extend((1..=cylinders).map(each));
                }
            }
            places.push((first, groups.len() - first));
        }
        Self { groups, places }
    }

    /// Groups to be open for these accesses: at the cylinders named, at all where none is.
    pub(super) fn open(&self, access: &[usize], cylinders: &[u8]) -> Vec<usize> {
        let mut open = Vec::new();
        for at in access {
            let (first, count) = self.places[*at];
            let here = |n: &usize| {
                count == 1
                    || cylinders.is_empty()
                    || cylinders.iter().any(|c| usize::from(*c) == n + 1)
            };
            open.extend((0..count).filter(here).map(|n| first + n));
        }
        open
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Bench;
    use crate::knowledge::{KnowledgeFiles, load};

    /// By hand: one of four injectors is a quarter of the work on all.
    #[test]
    fn one_cylinder_costs_its_share_and_a_cover_its_whole() {
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let prices = Prices::of(&Bench::default());
        let covers = Covers::of(&knowledge.access, 4, &prices);
        let at = |id: &str| {
            let found = knowledge.access.iter().position(|a| a.id.get_ref() == id);
            found.unwrap()
        };
        let minutes = |groups: Vec<usize>| -> f64 {
            groups.iter().map(|g| covers.groups[*g].open_minutes).sum()
        };
        let out = [at("injectors_out")];
        let all = minutes(covers.open(&out, &[]));
        assert!((minutes(covers.open(&out, &[3])) - all / 4.0).abs() < 1e-9);
        assert!((minutes(covers.open(&out, &[1, 2])) - all / 2.0).abs() < 1e-9);
        let cover = [at("rocker_cover")];
        assert_eq!(covers.open(&cover, &[3]), covers.open(&cover, &[]));
    }
}
