//! How many connections at once: in all, and of one address.

use crate::security::limits::subscriber;
use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};

/// A number of places that are taken and given back.
#[derive(Debug)]
pub(super) struct Places {
    most: usize,
    most_of_one: usize,
    taken: Mutex<Taken>,
}

#[derive(Debug, Default)]
struct Taken {
    all: usize,
    /// By subscriber; those without a place are not remembered.
    each: HashMap<IpAddr, usize>,
}

/// For how many an address stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Share {
    /// For itself.
    One,
    /// For others as well, as a proxy does.
    Many,
}

/// A place, given back when dropped.
#[derive(Debug)]
pub(super) struct Place {
    places: Arc<Places>,
    of: IpAddr,
}

impl Places {
    pub(super) fn new(most: usize, most_of_one: usize) -> Arc<Self> {
        Arc::new(Self { most, most_of_one, taken: Mutex::default() })
    }

    /// A place for this address, if there is one.
    pub(super) fn take(self: &Arc<Self>, address: IpAddr, share: Share) -> Option<Place> {
        let of = subscriber(address);
        let mut taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        let own = taken.each.get(&of).copied().unwrap_or(0);
        if taken.all >= self.most || (share == Share::One && own >= self.most_of_one) {
            return None;
        }
        taken.all += 1;
        taken.each.insert(of, own + 1);
        drop(taken);
        Some(Place { places: Arc::clone(self), of })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut taken = self.places.taken.lock().unwrap_or_else(PoisonError::into_inner);
        taken.all = taken.all.saturating_sub(1);
        let left = taken.each.get(&self.of).map_or(0, |own| own.saturating_sub(1));
        if left == 0 {
            taken.each.remove(&self.of);
        } else {
            taken.each.insert(self.of, left);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_address_cannot_take_every_place_and_places_come_back() {
        let places = Places::new(3, 2);
        let (one, other, third): (IpAddr, IpAddr, IpAddr) =
            ("192.0.2.1".parse().unwrap(), "192.0.2.2".parse().unwrap(), "192.0.2.3".parse().unwrap());
        let held = [places.take(one, Share::One).unwrap(), places.take(one, Share::One).unwrap()];
        assert!(places.take(one, Share::One).is_none());
        let last = places.take(other, Share::Many).unwrap();
        assert!(places.take(third, Share::Many).is_none(), "all are taken");
        drop(held);
        assert!(places.take(third, Share::Many).is_some());
        drop(last);
        assert!(places.taken.lock().unwrap().each.is_empty(), "nobody is remembered");
    }
}
