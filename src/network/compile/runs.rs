//! Operations into runs, so that a machine spends its time on numbers and not on instructions.
//!
//! Three nested walks make an instruction: cells that follow one another, the terms of their sums,
//! and the same once more with other operands. The operations of one *step* read only what was there
//! before it, so they may be done in any order: equal runs stand together, which lets them be
//! joined, and the machine guess what comes next. Must not make cells.

use std::collections::HashMap;

use super::instruction::{Instruction, Kind, jumps};

/// Whether an operation with operands `a` and `b` continues a run; the second operation fixes the
/// steps.
pub(super) fn joins(run: &mut Instruction, a: u32, b: u32) -> bool {
    let step = |first: u32, next: u32| i64::from(next) - i64::from(first);
    if run.len == 1 {
        let (Ok(a), Ok(b)) = (u32::try_from(step(run.a, a)), u32::try_from(step(run.b, b))) else {
            return false;
        };
        (run.step_a, run.step_b) = (a, b);
        return true;
    }
    let n = i64::from(run.len);
    step(run.a, a) == n * i64::from(run.step_a) && step(run.b, b) == n * i64::from(run.step_b)
}

/// The runs of one step: those that add to the cells of an earlier one become its terms, so that a
/// sum is made in registers; what is alike is joined.
pub(super) fn step(runs: &[Instruction], out: &mut Vec<Instruction>) {
    debug_assert!(before(runs), "a step reads what it makes");
    let mut made: Vec<Instruction> = Vec::with_capacity(runs.len());
    let mut last = HashMap::new();
    for run in runs {
        if let Some(at) = last.get(&run.dst)
            && gathers(&mut made[*at], run)
        {
            continue;
        }
        last.insert(run.dst, made.len());
        made.push(*run);
    }
    // A sum is begun before it is added to: kinds that set come first.
    made.sort_by_key(|i| (i.kind, i.terms, i.len, i.lane));
    let begun = out.len();
    for run in made {
        let joined = begun < out.len() && out.last_mut().is_some_and(|last| repeats(last, &run));
        if !joined {
            out.push(run);
        }
    }
}

/// Whether all lane cells that runs read lie before those they make.
fn before(runs: &[Instruction]) -> bool {
    let made = runs.iter().map(|run| run.dst).min();
    let last = |cell: u32, step: u32, len: u32| cell + step * (len - 1);
    runs.iter().all(|run| {
        let a = !run.lane[1] || Some(last(run.a, run.step_a, run.len)) < made;
        let b = !run.lane[2] || Some(last(run.b, run.step_b, run.len)) < made;
        a && b
    })
}

/// Makes a run that adds to the same cells another term, if its operands lie as far on as those of
/// the term before; the second term fixes how far.
fn gathers(run: &mut Instruction, more: &Instruction) -> bool {
    let same = run.kind != Kind::Scale && more.kind == run.kind.adds();
    if !same || (more.lane, more.len) != (run.lane, run.len) {
        return false;
    }
    if (more.step_a, more.step_b) != (run.step_a, run.step_b) {
        return false;
    }
    let known = [run.jump_a, run.jump_b];
    let Some(far) = jumps([run.a, run.b], [more.a, more.b], run.terms, known) else {
        return false;
    };
    [run.jump_a, run.jump_b] = far;
    run.terms += 1;
    true
}

/// Lets a run be done once more, if the other differs from it in its place only.
fn repeats(run: &mut Instruction, more: &Instruction) -> bool {
    let alike = Instruction {
        dst: run.dst,
        a: run.a,
        b: run.b,
        times: run.times,
        again_a: run.again_a,
        again_b: run.again_b,
        ..*more
    };
    let follows = more.dst == run.dst + run.times * run.len;
    if alike != *run || !follows || run.kind == Kind::Scale || more.times != 1 {
        return false;
    }
    let known = [run.again_a, run.again_b].map(u32::cast_signed);
    let far = jumps([run.a, run.b], [more.a, more.b], run.times, known);
    let Some([Ok(a), Ok(b)]) = far.map(|far| far.map(u32::try_from)) else {
        return false;
    };
    (run.again_a, run.again_b) = (a, b);
    run.times += 1;
    true
}
