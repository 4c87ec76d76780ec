//! The laws that every store keeps. A store's own tests call [`conformance`] with the way to make a fresh place; each law
//! then runs as a test of its own, on a place of its own.

pub(crate) mod access;
pub(crate) mod blobs;
pub(crate) mod feeds;
pub(crate) mod people;
pub(crate) mod streams;
pub(crate) mod upkeep;
pub(crate) mod verdicts;

use super::Store;
use super::journal::{Appended, Held, Offered, Offerer, Push};
use crate::intake;
use crate::security::secret::SecretHash;
use survey::chain::{Head, Link, StreamId};
use survey::entry::{Act, Entry, Scope, VisitEnded};
use survey::ids::{BootId, DeviceId, EntryId, Epoch, SiteId, VisitId};
use survey::time::{HybridTime, OffsetMinutes, SinceBoot, UnixMs};

/// A place where a store can be opened again and again: what a restart does.
pub(crate) trait Place {
    type Store: Store;

    fn open(&self) -> Self::Store;
}

/// Makes one test for each law.
macro_rules! conformance {
    ($fresh:expr) => {
        crate::store::conformance::laws! { $fresh;
            streams: [a_push_is_held_and_repeats_are_harmless, overlapping_pushes_add_the_rest, a_gap_is_told_with_what_is_held,
                forks_keep_both_branches, holes_hold_the_place_and_are_filled, a_claim_keeps_others_out, linked_phones_may_push,
                undecodable_entries_are_kept_and_never_fed, everything_survives_a_restart, a_file_claims_nothing];
            feeds: [a_feed_is_chained_in_the_order_of_commits, a_cursor_of_another_feed_restarts, pages_keep_to_their_limits];
            access: [codes_work_once_and_the_same_triple_again, ten_wrong_tries_kill_a_code, codes_die_of_age,
                living_prefixes_are_not_drawn_twice, one_device_has_one_living_token, authors_read_their_sites_and_nobody_elses];
            people: [a_link_opens_one_session_once, sessions_end_when_idle, sessions_end_after_a_week_and_with_the_coordinator, roles_reach_as_far_as_they_were_given];
            blobs: [photos_are_named_by_entries_first, texts_are_named_read_and_erased, an_erased_text_never_comes];
            verdicts: [rulings_become_verdicts_only_where_they_differ, a_judge_who_saw_less_changes_nothing];
            upkeep: [the_station_has_a_stream_and_never_forks_it, a_back_up_is_noted_for_the_photos_that_it_holds,
                closed_doors_let_nobody_in_and_throw_no_phone_out, a_name_is_forgotten_and_its_bearer_stays];
        }
    };
}

macro_rules! laws {
    ($fresh:expr; $($family:ident: [$($law:ident),* $(,)?];)*) => {
        $(mod $family {
            $(#[test] fn $law() { crate::store::conformance::$family::$law(&$fresh()); })*
        })*
    };
}

pub(crate) use {conformance, laws};

pub(crate) const NOW: UnixMs = UnixMs(1_782_900_000_000);

pub(super) fn device(n: u8) -> DeviceId {
    DeviceId::from_octets([n; 16])
}

pub(super) fn site(n: u8) -> SiteId {
    SiteId::from_octets([n; 16])
}

pub(super) fn stream(n: u8) -> StreamId {
    StreamId { device: device(n), epoch: Epoch::from_octets([n ^ 0xFF; 16]) }
}

pub(super) fn token(n: u8) -> SecretHash {
    SecretHash([n; 32])
}

pub(super) fn by(n: u8) -> Offerer {
    Offerer::Token { device: device(n), token: token(n) }
}

/// The bytes of an invented entry; `n` tells it from others.
pub(super) fn bytes(n: u32, scope: Scope, act: Act) -> Vec<u8> {
    let mut id = [0; 16];
    id[..4].copy_from_slice(&n.to_be_bytes());
    Entry {
        id: EntryId::from_octets(id),
        hybrid: HybridTime(NOW.0 + i64::from(n), 0),
        wall: UnixMs(NOW.0 + i64::from(n)),
        offset: OffsetMinutes(0),
        since_boot: SinceBoot { boot: BootId::from_octets([1; 16]), ms: u64::from(n) },
        scope,
        replaces: Vec::new(),
        act,
    }
    .encode()
    .unwrap()
}

pub(super) fn in_visit(n: u8) -> Scope {
    Scope::Visit(site(n), VisitId::from_octets([n; 16]))
}

pub(super) fn ended() -> Act {
    Act::VisitEnded(VisitEnded {})
}

/// A chain of `count` entries about a site behind a head; `first` numbers them.
pub(super) fn chain(stream: StreamId, after: Head, first: u32, count: u32, scope: Scope) -> Vec<Link> {
    let mut head = after;
    (first..first + count)
        .map(|n| {
            let link = head.extend(stream, bytes(n, scope, ended()));
            head = link.head();
            link
        })
        .collect()
}

pub(super) fn push(after: Head, links: &[Link], by: Offerer) -> Push {
    let items: Vec<Offered> = links.iter().cloned().map(intake::whole).collect();
    Push { stream: links[0].stream, after, items, by, received: NOW }
}

/// Pushes and expects it to be held; gives what is held and how many entries were added.
pub(super) fn held(store: &impl Store, push: &Push) -> (Held, usize) {
    match store.append(push).unwrap() {
        Appended::Held { held, added } => (held, added),
        other => panic!("{other:?}"),
    }
}
