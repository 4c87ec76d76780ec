//! What may happen to octets on their way.

use arbitrary::{Arbitrary, Unstructured};

/// One thing that happens to octets.
#[derive(Debug, Clone, Arbitrary)]
pub(crate) enum Damage {
    /// A bit turns.
    Flip { at: u16, bit: u8 },
    /// An octet is another.
    Set { at: u16, to: u8 },
    /// Some are gone.
    Remove { at: u16, octets: u8 },
    /// Some stand there twice.
    Repeat { at: u16, octets: u8 },
    /// Something stands in between.
    Insert { at: u16, what: Vec<u8> },
    /// The rest is gone.
    Cut { at: u16 },
    /// Something stands behind.
    Append { what: Vec<u8> },
}

/// The octets after all of it.
pub(crate) fn damaged(octets: &[u8], damages: &[Damage]) -> Vec<u8> {
    damages.iter().take(8).fold(octets.to_vec(), |octets, damage| damage.done_to(octets))
}

/// A description of an input, read from any octets; `None` where they are too few for one.
pub(crate) fn described<'o, T: Arbitrary<'o>>(octets: &'o [u8]) -> Option<T> {
    T::arbitrary_take_rest(Unstructured::new(octets)).ok()
}

impl Damage {
    fn done_to(&self, mut octets: Vec<u8>) -> Vec<u8> {
        // Places count from the end as often as from the start, for lengths and checks stand there.
        let place = |at: u16| match (octets.len(), usize::from(at)) {
            (0, _) => 0,
            (length, at) if at < 0x8000 => at % length,
            (length, at) => length - 1 - (at - 0x8000) % length,
        };
        match self {
            Self::Flip { at, bit } => {
                let at = place(*at);
                octets.iter_mut().skip(at).take(1).for_each(|octet| *octet ^= 1 << (bit % 8));
            }
            Self::Set { at, to } => {
                let at = place(*at);
                octets.iter_mut().skip(at).take(1).for_each(|octet| *octet = *to);
            }
            Self::Remove { at, octets: many } => {
                let at = place(*at);
                let end = (at + usize::from(*many)).min(octets.len());
                octets.drain(at..end);
            }
            Self::Repeat { at, octets: many } => {
                let at = place(*at);
                let end = (at + usize::from(*many)).min(octets.len());
                let again = octets[at..end].to_vec();
                octets.splice(at..at, again);
            }
            Self::Insert { at, what } => {
                let at = place(*at);
                octets.splice(at..at, what.iter().copied().take(256));
            }
            Self::Cut { at } => octets.truncate(place(*at)),
            Self::Append { what } => octets.extend(what.iter().take(256)),
        }
        octets
    }
}
