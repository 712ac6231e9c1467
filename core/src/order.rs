//! Sorting with little code. The standard library's sorts are compiled anew for every type of list, which
//! would cost the browser several kilobytes each.

/// Inserts an item into a sorted list, after its equals.
pub(crate) fn insert<T, K: Ord>(list: &mut Vec<T>, item: T, key: impl Fn(&T) -> K) {
    let own = key(&item);
    let at = list.partition_point(|other| key(other) <= own);
    list.insert(at, item);
}

/// Sorts a list; equal items keep their order. Fast for lists that are short or nearly sorted, as all lists
/// here are.
pub(crate) fn sort<T, K: Ord>(list: &mut Vec<T>, key: impl Fn(&T) -> K) {
    let mut sorted = Vec::with_capacity(list.len());
    for item in list.drain(..) {
        insert(&mut sorted, item, &key);
    }
    *list = sorted;
}

/// A sort key for floats.
pub(crate) fn of_time(time: f64) -> i64 {
    let bits = time.to_bits().cast_signed();
    // The bits of negative floats sort the other way around.
    if bits < 0 { bits ^ i64::MAX } else { bits }
}

/// The finite floats, sorted.
pub(crate) fn finite(times: &[f64]) -> Vec<f64> {
    let mut times: Vec<f64> = times.iter().copied().filter(|time| time.is_finite()).collect();
    sort(&mut times, |&time| of_time(time));
    times
}

#[cfg(test)]
mod tests {
    #[test]
    fn equals_stay_as_they_are() {
        let mut list = vec![(3, 'a'), (1, 'b'), (3, 'c'), (2, 'd'), (1, 'e')];
        super::sort(&mut list, |item| item.0);
        assert_eq!(list, [(1, 'b'), (1, 'e'), (2, 'd'), (3, 'a'), (3, 'c')]);
    }

    #[test]
    fn floats_by_their_bits() {
        let times = [0.5, -1e300, f64::NAN, 3.0, -2.0, f64::INFINITY, 0.0, -1e-300];
        assert_eq!(super::finite(&times), [-1e300, -2.0, -1e-300, 0.0, 0.5, 3.0]);
    }
}
