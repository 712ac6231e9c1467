//! What the fretting hand has to do among the quick notes of a figure.

use crate::hand::{FrettingPlan, Term};
use crate::line::NoteId;
use crate::neck::Position;
use crate::recast::Window;
use crate::time::Duration;

use super::reason::Reason;

/// For each stretch of a window's figure, whether it is a quick note: one shorter than an eighth.
pub(super) fn quick(window: &Window) -> Vec<bool> {
    let stretches = window.figure.stretches(window.spelling).iter();
    stretches.map(|stretch| stretch.sounds && stretch.duration < Duration::EIGHTH).collect()
}

/// Runs of two quick notes or more, without anything between them.
fn runs(window: &Window, notes: impl Iterator<Item = NoteId>) -> Vec<Vec<NoteId>> {
    let (mut runs, mut run) = (Vec::new(), Vec::new());
    let (mut notes, quick) = (notes, quick(window));
    for (stretch, is_quick) in window.figure.stretches(window.spelling).iter().zip(quick) {
        let note = if stretch.sounds { notes.next() } else { None };
        match note.filter(|_| is_quick) {
            Some(note) => run.push(note),
            None => runs.push(std::mem::take(&mut run)),
        }
    }
    runs.push(run);
    runs.retain(|run| run.len() > 1);
    runs
}

/// What the hand has to do among the quick notes of a window: from one of them to the next, as it is planned for the plain line. Recasting changes
/// only the time that there is for it.
pub(super) fn reason(
    window: &Window,
    notes: impl Iterator<Item = NoteId>,
    plan: &FrettingPlan,
) -> Option<Reason> {
    let runs = runs(window, notes);
    let moves = runs.iter().flat_map(|run| &run[1..]);
    let charges: Vec<Term> = moves.flat_map(|note| plan.charges(*note)).map(|charge| charge.term).collect();
    let shift = charges.iter().find_map(|term| match term {
        Term::Shift { to, .. } => Some(Reason::Shift { to: Position(*to) }),
        _ => None,
    });
    let skip = charges.iter().any(|term| matches!(term, Term::Skip { .. })).then_some(Reason::Skip);
    if let Some(awkward) = shift.or(skip) {
        return Some(awkward);
    }
    let (mut on_one, mut swept) = (!runs.is_empty(), !runs.is_empty());
    for run in &runs {
        let strings: Vec<i16> = run.iter().filter_map(|note| Some(plan.of(*note)?.string.0.into())).collect();
        let steps: Vec<i16> = strings.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let is = |step: i16| steps.iter().all(|own| *own == step);
        on_one &= is(0);
        swept &= is(0) || is(1) || is(-1);
    }
    match (on_one, swept) {
        (true, _) => Some(Reason::OneString),
        (_, true) => Some(Reason::Swept),
        _ => None,
    }
}
