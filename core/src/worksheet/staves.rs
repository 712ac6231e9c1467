//! Blank staves: a system without its notes.

use crate::engrave::View;
use crate::scene::{Group, Item, Role, Sp, System};

/// The lowest line of a staff.
const BOTTOM: Sp = 4.0;
/// The room to write above and below a staff: three ledger lines.
const ROOM: Sp = 3.5;

/// The same bars with only the clef, signatures, bar lines and chord symbols. Of staff and tab, only the
/// staff is kept, since the tab would give the answer away.
pub(super) fn empty(system: &System, view: View) -> System {
    let mut groups = Vec::new();
    for group in &system.groups {
        let kept = match group.role {
            Role::Clef | Role::Signature | Role::Chord | Role::BarNumber => group.clone(),
            Role::Staff if view == View::Tab => whole(group),
            Role::Staff | Role::BarLine => group.clone(),
            _ => continue,
        };
        groups.push(kept);
    }
    if view == View::Both {
        for group in &mut groups {
            // The tab and what joins it to the staff are lower than this; a clef extends below its staff.
            let bar_line = group.role == Role::BarLine;
            group.items.retain(|placed| {
                placed.at.y < BOTTOM + 0.5 && !(bar_line && placed.bounds()[3] > BOTTOM + 0.5)
            });
        }
        groups.retain(|group| !group.items.is_empty());
    }
    let lines = groups.iter().filter(|group| group.role == Role::Staff).filter_map(Group::bounds);
    let bottom = lines.map(|[.., bottom]| bottom).fold(0.0, Sp::max);
    let tops = groups.iter().filter_map(Group::bounds).map(|[_, top, ..]| top);
    let top = tops.fold(0.0, Sp::min);
    System { above: (-top).max(ROOM), below: bottom + ROOM, groups, pads: Vec::new(), ..system.clone() }
}

/// Lines without the gaps for numbers.
fn whole(lines: &Group) -> Group {
    let mut whole = Group::new(lines.role, lines.bar, lines.note);
    for placed in &lines.items {
        let [_, _, right, _] = placed.bounds();
        let Item::Rect { height, .. } = placed.item else { continue };
        let same = whole.items.iter_mut().find(|line| line.at.y == placed.at.y);
        match same.map(|line| (line.at.x, &mut line.item)) {
            Some((left, Item::Rect { width, .. })) => *width = width.max(right - left),
            _ => whole.put(placed.at.x, placed.at.y, Item::Rect { width: right - placed.at.x, height }),
        }
    }
    whole
}
