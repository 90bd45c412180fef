//! View models kept until what they were made from changes.

use std::rc::Rc;

/// One kept value with the key that it was made for.
#[derive(Debug)]
pub struct Kept<K, V>(Option<(K, Rc<V>)>);

impl<K, V> Default for Kept<K, V> {
    fn default() -> Self {
        Self(None)
    }
}

impl<K: PartialEq, V> Kept<K, V> {
    /// The value for `key`, made anew when the key differs from the last one.
    pub fn get(&mut self, key: K, make: impl FnOnce() -> V) -> Rc<V> {
        match &self.0 {
            Some((known, value)) if *known == key => Rc::clone(value),
            _ => {
                let value = Rc::new(make());
                self.0 = Some((key, Rc::clone(&value)));
                value
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Kept;

    #[test]
    fn a_value_is_made_once_for_a_key() {
        let mut made = 0;
        let mut kept: Kept<u32, u32> = Kept::default();
        for key in [1, 1, 2, 2, 1] {
            let value = kept.get(key, || {
                made += 1;
                key * 10
            });
            assert_eq!(*value, key * 10);
        }
        assert_eq!(made, 3);
    }
}
