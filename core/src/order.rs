//! Lists in order, with little code: each sort of the standard library would bring the browser several kilobytes for its own type of list.

/// Puts an item into a list that is in order, after its equals.
pub(crate) fn insert<T, K: Ord>(list: &mut Vec<T>, item: T, key: impl Fn(&T) -> K) {
    let own = key(&item);
    let at = list.partition_point(|other| key(other) <= own);
    list.insert(at, item);
}

/// Puts a list in order; equals stay as they are. Quick for lists that are short or nearly in order, as all lists here are.
pub(crate) fn sort<T, K: Ord>(list: &mut Vec<T>, key: impl Fn(&T) -> K) {
    let mut sorted = Vec::with_capacity(list.len());
    for item in list.drain(..) {
        insert(&mut sorted, item, &key);
    }
    *list = sorted;
}

#[cfg(test)]
mod tests {
    #[test]
    fn equals_stay_as_they_are() {
        let mut list = vec![(3, 'a'), (1, 'b'), (3, 'c'), (2, 'd'), (1, 'e')];
        super::sort(&mut list, |item| item.0);
        assert_eq!(list, [(1, 'b'), (1, 'e'), (2, 'd'), (3, 'a'), (3, 'c')]);
    }
}
