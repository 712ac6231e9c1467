//! Where the music is at a moment of a clock, and the reverse, however often the tempo changes.

use crate::line::Tempo;

/// Music that starts at a moment and may change its tempo along the way.
///
/// A position is in quarter notes from the start of the music, through all its repeats; a count-in is before
/// 0. Every moment is computed from the last change of tempo, so errors don't accumulate from note to note.
///
/// ```
/// use halfbar_core::line::Tempo;
/// use halfbar_core::perform::Clock;
///
/// let tempo = |bpm| Tempo::new(bpm).expect("a tempo");
/// // After a bar of count-in, the second bar is twice as fast.
/// let mut clock = Clock::new(10.0, -4.0, tempo(60));
/// clock.change(4.0, tempo(120));
/// assert_eq!([0.0, 4.0, 6.0].map(|position| clock.seconds(position)), [14.0, 18.0, 19.0]);
/// assert_eq!(clock.position(19.0), 6.0);
/// ```
#[derive(Clone, PartialEq, Debug)]
pub struct Clock {
    /// At least one, in order.
    legs: Vec<Leg>,
}

/// Music at one tempo.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Leg {
    /// The time when it starts.
    seconds: f64,
    /// The position where it starts.
    position: f64,
    tempo: Tempo,
}

impl Clock {
    /// Starts at a moment, in seconds on any clock, from a position.
    pub fn new(seconds: f64, position: f64, tempo: Tempo) -> Clock {
        Clock { legs: vec![Leg { seconds, position, tempo }] }
    }

    /// Changes the tempo from a position on. Any later change is dropped.
    pub fn change(&mut self, position: f64, tempo: Tempo) {
        let leg = Leg { seconds: self.seconds(position), position, tempo };
        while self.legs.len() > 1 && self.last().position >= position {
            self.legs.pop();
        }
        match self.legs.last_mut() {
            Some(first) if first.position >= position => *first = leg,
            _ => self.legs.push(leg),
        }
    }

    /// The last tempo that was set.
    pub fn tempo(&self) -> Tempo {
        self.last().tempo
    }

    /// The tempo at a position.
    pub fn tempo_at(&self, position: f64) -> Tempo {
        self.leg(|leg| leg.position <= position).tempo
    }

    /// The time when a position is reached. Positions before the start are timed as if the first tempo had
    /// already applied.
    pub fn seconds(&self, position: f64) -> f64 {
        let leg = self.leg(|leg| leg.position <= position);
        leg.seconds + (position - leg.position) * leg.quarter()
    }

    /// The position of the music at a moment.
    pub fn position(&self, seconds: f64) -> f64 {
        let leg = self.leg(|leg| leg.seconds <= seconds);
        leg.position + (seconds - leg.seconds) / leg.quarter()
    }

    fn last(&self) -> Leg {
        self.legs[self.legs.len() - 1]
    }

    /// The last leg that has begun, or the first.
    fn leg(&self, begun: impl Fn(&Leg) -> bool) -> Leg {
        self.legs.iter().rev().copied().find(begun).unwrap_or(self.legs[0])
    }
}

impl Leg {
    /// How long a quarter note lasts, in seconds.
    fn quarter(self) -> f64 {
        60.0 / f64::from(self.tempo.quarters_per_minute())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tempo(bpm: u16) -> Tempo {
        Tempo::new(bpm).unwrap()
    }

    #[test]
    fn ten_minutes_do_not_drift() {
        let clock = Clock::new(0.3, 0.0, tempo(133));
        // 1,330 quarter notes at 133 per minute.
        assert!((clock.seconds(1330.0) - 600.3).abs() < 1e-9);
    }

    #[test]
    fn a_change_forgets_what_was_settled_for_later() {
        let mut clock = Clock::new(0.0, 0.0, tempo(60));
        clock.change(8.0, tempo(240));
        clock.change(4.0, tempo(120));
        assert_eq!((clock.seconds(4.0), clock.seconds(10.0)), (4.0, 7.0));
        assert_eq!((clock.tempo(), clock.tempo_at(3.0)), (tempo(120), tempo(60)));
        // A change at the start is a start at another tempo.
        clock.change(0.0, tempo(30));
        assert_eq!((clock.seconds(4.0), clock.tempo_at(-1.0)), (8.0, tempo(30)));
    }

    /// Moments and positions are inverses of each other, and both only increase.
    #[test]
    fn there_and_back() {
        let mut clock = Clock::new(1.5, -4.0, tempo(100));
        for (position, bpm) in [(3.7, 30), (9.0, 320), (9.0, 57), (2.5, 133), (40.0, 96)] {
            clock.change(position, tempo(bpm));
            let mut before = clock.seconds(-8.01);
            for step in -800..12_800 {
                let at = f64::from(step) / 100.0;
                let seconds = clock.seconds(at);
                assert!(seconds > before && (clock.position(seconds) - at).abs() < 1e-9, "{at}");
                before = seconds;
            }
        }
    }
}
