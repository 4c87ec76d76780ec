//! What to do next: comparing first, then entries, then what hangs on them, then what others have sent.

use super::job::Work;
use super::known::Parking;
use super::state::{Hold, Item, Session, Stock};
use super::talk::{Asker, Metered};
use crate::wire::push::HoleReason;
use std::collections::BTreeMap;
use survey::ids::PhotoId;

/// What waits, and what is in flight already.
pub(super) struct View<'a> {
    pub(super) stock: &'a Stock,
    pub(super) session: &'a Session,
    pub(super) holds: &'a BTreeMap<Item, Hold>,
    pub(super) in_flight: &'a [Work],
    pub(super) app: &'a str,
    /// Time since boot.
    pub(super) up_ms: u64,
}

impl View<'_> {
    /// The next small work.
    pub(super) fn small(&self) -> Option<Work> {
        if !self.session.greeted {
            return Some(Work::Hello);
        }
        self.all_small().find(|work| self.free(Item::of(work)))
    }

    /// The next bulk work.
    pub(super) fn bulk(&self) -> Option<Work> {
        self.all_bulk().find(|work| self.free(Item::of(work)))
    }

    /// When the first of the items that wait for a time, and have something to do, may go on.
    pub(super) fn next_free(&self) -> Option<u64> {
        let work = self.all_small().chain(self.all_bulk());
        work.filter_map(|work| self.holds.get(&Item::of(&work)).filter(|hold| !hold.rests)?.until).min()
    }

    fn free(&self, item: Item) -> bool {
        self.holds.get(&item).is_none_or(|hold| !hold.rests && hold.until.is_none_or(|until| until <= self.up_ms))
    }

    fn all_small(&self) -> impl Iterator<Item = Work> {
        let stock = self.stock;
        let push = stock.streams.iter().filter_map(|(&id, stream)| stream.next(id));
        let fill =
            stock.streams.iter().filter(|(_, stream)| stream.parked == Parking::Free).flat_map(|(&id, stream)| {
                let again = stream.holes.values();
                let again = again.filter(|hole| hole.reason != HoleReason::Damaged && hole.offered_by != self.app);
                again.map(move |hole| Work::Fill { stream: id, seq: hole.seq })
            });
        let texts = stock.texts.values().filter(|text| stock.has(text.stream, text.seq));
        let texts = texts.map(|text| Work::Text { hash: text.hash });
        let feeds = stock.sites.values().filter(|site| site.more);
        let feeds = feeds.map(|site| Work::Feed { after: site.cursor });
        let verdicts = stock.streams.iter().filter(|(_, stream)| stream.verdicts < stream.verdicts_there);
        let verdicts = verdicts.map(|(&stream, state)| Work::Verdicts { stream, after: state.verdicts });
        let states = stock.photos.values().filter(|photo| self.to_ask(photo.id));
        let states = states.map(|photo| Work::PhotoState { photo: photo.id });
        push.chain(fill).chain(texts).chain(feeds).chain(verdicts).chain(states)
    }

    fn all_bulk(&self) -> impl Iterator<Item = Work> {
        let allowed = self.session.by == Asker::Person || self.session.metered == Metered::No;
        let photos = self.stock.photos.values().filter(move |_| allowed);
        let photos = photos.filter(|photo| !photo.state.verified && self.stock.has(photo.stream, photo.seq));
        photos.filter_map(|photo| {
            let missing = (0..photo.parts()).filter(|n| !photo.state.parts.contains(n));
            missing.map(|n| Work::Part { photo: photo.id, n }).find(|work| !self.in_flight.contains(work))
        })
    }

    /// Whether to ask for the state of a photo: verified but not known to be backed up, or all parts sent and not
    /// verified. Once in a sync.
    fn to_ask(&self, id: PhotoId) -> bool {
        let Some(photo) = self.stock.photos.get(&id) else { return false };
        let state = &photo.state;
        let all_there = (0..photo.parts()).all(|n| state.parts.contains(&n));
        let open = if state.verified { state.backed_up.is_none() } else { all_there };
        open && !self.session.asked.contains(&id) && self.stock.has(photo.stream, photo.seq)
    }
}
