//! Which one it was: a shared thing remembered by its place, without keeping it alive. A weak count
//! holds the place, so that nothing else can come to lie there and be taken for it.

use std::sync::{Arc, Weak};

/// Equal only to what was made from the very same shared thing; nothing is equal to nothing.
pub struct Same<T>(Option<Weak<T>>);

impl<T> Same<T> {
    #[must_use]
    pub fn of(thing: &Arc<T>) -> Self {
        Self(Some(Arc::downgrade(thing)))
    }

    #[must_use]
    pub fn maybe(thing: Option<&Arc<T>>) -> Self {
        Self(thing.map(Arc::downgrade))
    }
}

impl<T> Default for Same<T> {
    fn default() -> Self {
        Self(None)
    }
}

impl<T> Clone for Same<T> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

impl<T> PartialEq for Same<T> {
    fn eq(&self, other: &Self) -> bool {
        match (&self.0, &other.0) {
            (Some(a), Some(b)) => a.ptr_eq(b),
            (None, None) => true,
            _ => false,
        }
    }
}

impl<T> std::fmt::Debug for Same<T> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.0 {
            Some(place) => write!(f, "{:p}", place.as_ptr()),
            None => f.write_str("nothing"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Invariant: what is gone is equal to nothing that comes after it, wherever that lies.
    #[test]
    fn what_is_gone_is_not_taken_for_another() {
        let mut last = Same::default();
        for i in 0..1000 {
            let thing = Arc::new([i; 8]);
            assert_ne!(Same::of(&thing), last);
            last = Same::of(&thing);
            assert_eq!(Same::of(&thing), last);
        }
        assert_eq!(Same::<u8>::default(), Same::maybe(None));
    }
}
