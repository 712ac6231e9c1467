//! Springs and rods: how far apart notes stand.
//!
//! After Gourlay, "Spacing a line of music" (1987): each note is followed by a spring, whose natural length
//! grows with the time to the next note, and by a rod that no force can shorten, which is the room its signs
//! need.

use crate::scene::Sp;
use crate::time::Duration;

/// The natural space after a quarter note.
const QUARTER_SPRING: Sp = 4.9;
/// The exponent by which a note's spring grows with its duration: twice the duration gives 2^0.536, or 1.45
/// times the length. Textbooks give 1.4 to 1.5.
const GROWTH: f64 = 0.536;

/// The distance from one place to the next.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Spring {
    /// Its natural length, when nothing stretches or squeezes it.
    pub(super) natural: Sp,
    /// The shortest it can get.
    pub(super) rod: Sp,
}

impl Spring {
    /// The spring after a note that lasts this long.
    pub(super) fn after(duration: Duration, rod: Sp) -> Spring {
        // By way of logarithms, because `powf` would add 2 KB to a module.
        Spring { natural: QUARTER_SPRING * (GROWTH * duration.to_f64().max(1e-3).ln()).exp(), rod }
    }

    fn length(self, force: f64) -> Sp {
        (self.natural * force).max(self.rod)
    }

    /// Its length at rest.
    pub(super) fn at_rest(self) -> Sp {
        self.length(1.0)
    }
}

/// The force that makes the springs fill `room`, as a factor on their natural lengths; 0 if the rods alone
/// fill it or more.
pub(super) fn force(springs: &[Spring], room: Sp) -> f64 {
    // Springs that the force would squeeze below their rods act as rods. Taking those out lowers the force on
    // the others, and so on.
    let (mut stiff, mut natural) = (0.0, springs.iter().map(|spring| spring.natural).sum::<Sp>());
    let mut free: Vec<&Spring> = springs.iter().collect();
    loop {
        if free.is_empty() || stiff >= room {
            return 0.0;
        }
        let force = (room - stiff) / natural;
        let before = free.len();
        free.retain(|spring| {
            let holds = spring.natural * force >= spring.rod;
            if !holds {
                stiff += spring.rod;
                natural -= spring.natural;
            }
            holds
        });
        if free.len() == before {
            return force;
        }
    }
}

/// The lengths under a force.
pub(super) fn lengths(springs: &[Spring], force: f64) -> impl Iterator<Item = Sp> {
    springs.iter().map(move |spring| spring.length(force))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn springs_fill_the_room() {
        let springs = [
            Spring { natural: 3.0, rod: 1.0 },
            Spring { natural: 2.0, rod: 4.0 },
            Spring { natural: 4.0, rod: 2.0 },
            Spring { natural: 1.0, rod: 1.4 },
        ];
        for room in [9.0, 12.0, 20.0, 60.0] {
            let filled: Sp = lengths(&springs, force(&springs, room)).sum();
            assert!((filled - room).abs() < 1e-9, "{filled} in {room}");
        }
        assert_eq!(force(&springs, 5.0), 0.0);
        assert_eq!(lengths(&springs, 0.0).sum::<Sp>(), 8.4);
    }

    #[test]
    fn twice_as_long_is_wider_as_handbooks_have_it() {
        let ratio =
            Spring::after(Duration::QUARTER, 0.0).natural / Spring::after(Duration::EIGHTH, 0.0).natural;
        assert!((ratio - 1.45).abs() < 1e-3, "{ratio}");
    }
}
