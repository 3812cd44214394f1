//! The same items in the same order in every case of a job.
//!
//! A set of items is asked for by positions, on all kinds of engine at once. Must not change what
//! an item says.

use super::item::{Case, Item, Remark, Source};

/// What tells an item from the others of its case: its entry, its source, and which of several
/// alike.
type Key = (usize, Source, usize);

/// Gives every case an item for everything that some case has; one that says nothing where the
/// kind of engine lacks what was read.
pub(super) fn align(cases: &mut [Case]) {
    let mut order: Vec<Key> = Vec::new();
    for case in cases.iter() {
        let mut at = 0;
        for key in keys(&case.items) {
            match order.iter().position(|known| *known == key) {
                Some(known) => at = known + 1,
                None => {
                    order.insert(at, key);
                    at += 1;
                }
            }
        }
    }
    let typed: Vec<(Key, String)> = cases
        .iter()
        .flat_map(|c| keys(&c.items).into_iter().zip(c.items.iter()))
        .map(|(key, item)| (key, item.typed.clone()))
        .collect();
    for case in cases.iter_mut() {
        let mut own: Vec<(Key, Item)> = keys(&case.items)
            .into_iter()
            .zip(std::mem::take(&mut case.items))
            .collect();
        for key in &order {
            let found = own.iter().position(|(k, _)| k == key);
            case.items.push(match found {
                Some(at) => own.swap_remove(at).1,
                None => silent(key, &typed),
            });
        }
    }
}

fn keys(items: &[Item]) -> Vec<Key> {
    let mut keys: Vec<Key> = Vec::new();
    for item in items {
        let alike = keys.iter();
        let alike = alike.filter(|k| k.0 == item.entry && k.1 == item.source);
        let key = (item.entry, item.source.clone(), alike.count());
        keys.push(key);
    }
    keys
}

/// An item that says nothing.
fn silent(key: &Key, typed: &[(Key, String)]) -> Item {
    let typed = typed.iter().find(|(k, _)| k == key);
    Item {
        entry: key.0,
        source: key.1.clone(),
        typed: typed.map(|(_, t)| t.clone()).unwrap_or_default(),
        slots: Vec::new(),
        shared: None,
        log_scale: 0.0,
    }
}

/// Remarks of all cases as those of the job: what only some kinds of engine lack is said so.
pub(super) fn remarks(by_case: &[Vec<Remark>]) -> Vec<Remark> {
    let mut all: Vec<Remark> = Vec::new();
    for remark in by_case.iter().flatten() {
        let everywhere = by_case.iter().all(|own| own.contains(remark));
        let said = match remark {
            Remark::NotOnEngine { entry, id } if !everywhere => Remark::OnSomeEngines {
                entry: *entry,
                id: id.clone(),
            },
            other => other.clone(),
        };
        if !all.contains(&said) {
            all.push(said);
        }
    }
    all
}
