//! What a reader has changed, carried over when the author changes the text.

use crate::line::{Event, Line};

use super::apply::notes_inside;
use super::windows::{Casting, Window};

/// A line with a casting.
#[derive(Clone, Copy, Debug)]
pub struct Cast<'a> {
    /// The plain line.
    pub line: &'a Line,
    /// What is recast in it.
    pub casting: &'a Casting,
}

impl Casting {
    /// What a reader has made of this casting of `from`, in a new version of the text. Wherever the notes are the same in both, what the
    /// reader has recast or restored stays so, unless the author has changed it too.
    ///
    /// ```
    /// use halfbar_core::read;
    /// use halfbar_core::recast::Cast;
    ///
    /// let [from, now, to] = [
    ///     "recast: split-last at 1.1\nC4 D E F G F E D | C4 D E F G F E D |",
    ///     "recast: split-first at 2.1\nC4 D E F G F E D | C4 D E F G F E D |",
    ///     "recast: split-last at 1.1\nC4 D E F G A B C | C4 D E F G F E D |",
    /// ]
    /// .map(read::text);
    /// let to_line = to.line.as_ref().expect("a line");
    /// let to_cast = Cast { line: to_line, casting: &to.casting };
    /// let carried = from.casting.carried(from.line.as_ref().expect("a line"), &now.casting, to_cast);
    /// assert_eq!(carried, now.casting);
    /// ```
    pub fn carried(&self, from: &Line, now: &Casting, to: Cast<'_>) -> Casting {
        let mut carried = to.casting.clone();
        let is_free = |window: &Window| {
            self.at(window.start) == to.casting.at(window.start) && sound_alike(from, to.line, window)
        };
        for restored in self.windows().iter().filter(|&window| now.at(window.start).is_none()) {
            if is_free(restored) {
                carried.restore(restored.start);
            }
        }
        for recast in now.windows().iter().filter(|&window| self.at(window.start) != Some(window)) {
            if is_free(recast) {
                // It may share time with what the author has recast now.
                let _ = carried.put_fitting(to.line, recast.clone());
            }
        }
        carried
    }
}

/// Whether two lines have the same notes in a window.
fn sound_alike(one: &Line, other: &Line, window: &Window) -> bool {
    let (Ok(notes), Ok(others)) = (notes_inside(one, window), notes_inside(other, window)) else {
        return false;
    };
    let (notes, others) = (&one.events()[notes], &other.events()[others]);
    let is_same = |(a, b): (&Event, &Event)| (a.onset, a.duration, a.pitch) == (b.onset, b.duration, b.pitch);
    notes.len() == others.len() && notes.iter().zip(others).all(is_same)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read;

    /// The places of the figures after a reader has changed the recasts of `from` to `now` and its author the text to `to`.
    fn carried([from, now, to]: [&str; 3]) -> String {
        let notes = |music: &str| match music {
            "" => String::from("C4 D E F G F E D | C4 D E F G F E D |"),
            notes => notes.into(),
        };
        let [from, now, to] =
            [(from, ""), (now, ""), to.split_once('/').unwrap_or((to, ""))].map(|(recasts, music)| {
                let rows = recasts.split_terminator(',').map(|recast| format!("recast: {recast}\n"));
                read::text(&(rows.collect::<String>() + &notes(music)))
            });
        let line = to.line.unwrap();
        let carried = from.casting.carried(
            &from.line.unwrap(),
            &now.casting,
            Cast { line: &line, casting: &to.casting },
        );
        let said = carried.windows().iter().map(|window| {
            let place = line.bars().place(window.start).unwrap();
            format!("{} at {}.{}", window.figure.name(), place.bar, place.beat)
        });
        said.collect::<Vec<_>>().join(",")
    }

    #[test]
    fn a_readers_changes_stay_where_the_notes_do() {
        const ONE: &str = "split-last at 1.1";
        for (from_now_to, stays) in [
            // Nothing new but what the reader did.
            (["", ONE, ""], ONE),
            ([ONE, "", ONE], ""),
            ([ONE, "split-first at 1.1", ONE], "split-first at 1.1"),
            // Other notes there, and elsewhere.
            (["", ONE, "/C4 D E G G F E D | C4 D E F G F E D |"], ""),
            (["", ONE, "/C4 D E F G F E D | C5 D E F G F E D |"], ONE),
            ([ONE, "", "split-last at 1.1/C4 D E G G F E D | C4 D E F G F E D |"], ONE),
            // The author's changes win.
            (["", ONE, "split-first at 1.1"], "split-first at 1.1"),
            (["", ONE, "split-last at 1.2 tied"], "split-last at 1.2"),
            ([ONE, "split-first at 1.1", ""], ""),
            (["", ONE, "split-first at 2.3"], "split-last at 1.1,split-first at 2.3"),
            // A line that ends before it.
            (["", "split-last at 2.1", "/C4 D E F G F E D |"], ""),
        ] {
            assert_eq!(carried(from_now_to), stays, "{from_now_to:?}");
        }
    }
}
