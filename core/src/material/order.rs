//! In which order the notes of a shape come.

use std::fmt;
use std::str::FromStr;

use super::error::{MaterialError, Result};

/// The order of a shape's notes, each by its number from 1, the lowest: `1324`. By default, from the lowest up.
///
/// ```
/// use halfbar_core::material::NoteOrder;
///
/// let order: NoteOrder = "1324".parse()?;
/// assert_eq!(order.to_string(), "1324");
/// assert!("1325".parse::<NoteOrder>().is_err());
/// # Ok::<(), halfbar_core::material::MaterialError>(())
/// ```
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct NoteOrder(Vec<usize>);

impl NoteOrder {
    /// Notes in this order.
    ///
    /// # Errors
    /// [`MaterialError::Order`] for an order of another number of notes.
    pub(super) fn of<T: Copy>(&self, notes: &[T]) -> Result<Vec<T>> {
        match self.0.as_slice() {
            [] => Ok(notes.to_vec()),
            order if order.len() == notes.len() => {
                Ok(order.iter().filter_map(|at| notes.get(*at).copied()).collect())
            }
            _ => Err(MaterialError::order(&self.to_string(), notes.len())),
        }
    }
}

impl FromStr for NoteOrder {
    type Err = MaterialError;

    /// Reads digits, perhaps with spaces or hyphens between them.
    fn from_str(text: &str) -> Result<NoteOrder> {
        let digits = text.chars().filter(|letter| !matches!(letter, ' ' | '-'));
        let digits: Option<Vec<u32>> = digits.map(|letter| letter.to_digit(10)).collect();
        let digits = digits.unwrap_or_default();
        let wanted = 1..=u32::try_from(digits.len()).unwrap_or(0);
        let mut sorted = digits.clone();
        sorted.sort_unstable();
        match !digits.is_empty() && sorted.iter().copied().eq(wanted) {
            true => Ok(NoteOrder(digits.into_iter().map(|digit| digit as usize - 1).collect())),
            false => Err(MaterialError::order(text, digits.len().clamp(3, 9))),
        }
    }
}

impl fmt::Display for NoteOrder {
    /// Writes the form that is read; nothing for the usual order.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|at| write!(f, "{}", at + 1))
    }
}
