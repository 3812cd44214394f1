//! Where the starting chances of a part stand in a network: its copies over cylinders, and the
//! rows of each that the fitted chances fill.
//!
//! Must not count.

use crate::knowledge::Knowledge;
use crate::network::build::{FaultVariable, Model};
use crate::network::{Network, VarId};

/// One variable of a part.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Copy<'m> {
    pub variable: VarId,
    pub driver: Option<VarId>,
    /// Rows of its table that hold the fitted chances.
    rows: Vec<usize>,
    own: usize,
    pub part: &'m str,
    /// Its faults; state of the first is one.
    pub faults: Vec<&'m FaultVariable>,
}

/// Copies of all parts, first slice.
pub(super) fn copies<'m>(knowledge: &Knowledge, model: &'m Model) -> Vec<Copy<'m>> {
    let network = &model.network;
    let mut copies: Vec<Copy<'m>> = Vec::new();
    for fault in &model.faults {
        if let Some(last) = copies.iter_mut().find(|c| c.variable == fault.variable) {
            last.faults.push(fault);
            continue;
        }
        let variable = fault.variable;
        let driver = network.variable(variable).local.drivers.first().copied();
        let part = knowledge
            .parts
            .iter()
            .find(|p| *p.id.get_ref() == fault.part);
        let rows = match driver {
            None => vec![0],
            Some(driver) => {
                let states = network.variable(driver).states.iter().enumerate();
                let given = |s: &String| part.is_some_and(|p| p.given_rows.contains_key(s));
                states
                    .filter(|(_, s)| !given(s))
                    .map(|(at, _)| at)
                    .collect()
            }
        };
        copies.push(Copy {
            variable,
            driver,
            rows,
            own: network.size(variable),
            part: &fault.part,
            faults: vec![fault],
        });
    }
    copies
}

impl Copy<'_> {
    /// What is asked of the kernel: the family.
    pub fn query(&self) -> Vec<VarId> {
        self.driver.into_iter().chain([self.variable]).collect()
    }

    /// Starting chances as they stand in a network.
    pub fn chances(&self, network: &Network) -> Vec<f64> {
        let init = &network.variable(self.variable).local.init;
        let row = self.rows.first().map_or(0, |r| r * self.own);
        init[row + 1..row + self.own].to_vec()
    }

    /// Uses of the fitted rows, and cases of each fault among them, from chances of the family.
    pub fn counted(&self, family: &[f64]) -> (f64, Vec<f64>) {
        let mut uses = 0.0;
        let mut cases = vec![0.0; self.own - 1];
        for row in &self.rows {
            let row = &family[row * self.own..(row + 1) * self.own];
            uses += row.iter().sum::<f64>();
            cases.iter_mut().zip(&row[1..]).for_each(|(c, p)| *c += p);
        }
        (uses, cases)
    }

    /// Chance of each fault, from chances of the family.
    pub fn there(&self, family: &[f64]) -> Vec<f64> {
        let mut there = vec![0.0; self.own - 1];
        for row in family.chunks(self.own) {
            there.iter_mut().zip(&row[1..]).for_each(|(t, p)| *t += p);
        }
        there
    }

    /// The same before anything is known: the table itself over its driver's.
    pub fn before(&self, network: &Network) -> Vec<f64> {
        let init = &network.variable(self.variable).local.init;
        match self.driver {
            None => init.clone(),
            Some(driver) => {
                let driver = &network.variable(driver).local.init;
                let rows = init.chunks(self.own).zip(driver);
                rows.flat_map(|(row, p)| row.iter().map(move |c| c * p))
                    .collect()
            }
        }
    }
}
