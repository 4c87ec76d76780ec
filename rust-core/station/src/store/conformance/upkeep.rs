//! Laws of what the station knows of itself.

use super::{NOW, Place, by, bytes, chain, device, held, in_visit, push, site, stream, token};
use crate::security::codes::{CodeDigest, LIFE_MS, Prefix};
use crate::store::access::{AccessStore, Invitation, Invited, Joining, Redeemed};
use crate::store::blobs::BlobStore;
use crate::store::coordinators::{CoordinatorStore, Grant, Role};
use crate::store::journal::{Appended, JournalStore, Offerer, Standing};
use crate::store::upkeep::UpkeepStore;
use survey::chain::{Hash, Head, StreamId};
use survey::check::{PhotoOf, PhotoTaken};
use survey::entry::Act;
use survey::ids::{ObserverId, PhotoId};
use survey::time::UnixMs;

pub(crate) fn the_station_has_a_stream_and_never_forks_it(place: &impl Place) {
    let store = place.open();
    assert_eq!(store.own_stream().unwrap(), None);
    for n in [7, 8] {
        store.begin_own_stream(stream(n)).unwrap();
        assert_eq!(store.own_stream().unwrap(), Some(stream(n)));
    }
    let links = chain(stream(8), Head::START, 1, 3, in_visit(1));
    held(&store, &push(Head::START, &links[..2], Offerer::Station));
    assert_eq!(store.streams().unwrap()[0].standing, Standing::Verified, "its own word enters estimates");
    // Two processes that write at once: who comes second learns where the stream ends, and begins again.
    let late = chain(stream(8), links[0].head(), 9, 1, in_visit(1));
    let Appended::Gap(now) = store.append(&push(links[0].head(), &late, Offerer::Station)).unwrap() else {
        panic!("a fork of its own")
    };
    assert_eq!((now.head, now.heads.len()), (links[1].head(), 1));
    assert_eq!(held(&store, &push(links[1].head(), &links[2..], Offerer::Station)).1, 1);
    // Nobody speaks in the station's name, neither in this epoch nor in another.
    let forged = chain(stream(8), links[2].head(), 20, 1, in_visit(1));
    assert_eq!(store.append(&push(links[2].head(), &forged, by(8))).unwrap(), Appended::NotYours);
    let elsewhere = StreamId { device: stream(8).device, epoch: stream(1).epoch };
    let forged = chain(elsewhere, Head::START, 30, 1, in_visit(1));
    for by in [by(8), Offerer::File] {
        assert_eq!(store.append(&push(Head::START, &forged, by)).unwrap(), Appended::NotYours);
    }
    drop(store);
    assert_eq!(place.open().own_stream().unwrap(), Some(stream(8)));
}

pub(crate) fn a_back_up_is_noted_for_the_photos_that_it_holds(place: &impl Place) {
    let store = place.open();
    let photo = |n: u8| PhotoId::from_octets([n; 16]);
    let taken = |n| Act::PhotoTaken(PhotoTaken { photo: photo(n), length: 5, hash: Hash([n; 32]), of: PhotoOf::Site });
    let mut head = Head::START;
    for n in 1..=3 {
        let link = head.extend(stream(1), bytes(n.into(), in_visit(1), taken(n)));
        held(&store, &push(head, std::slice::from_ref(&link), by(1)));
        head = link.head();
    }
    let backed_up = |n| store.photo(device(1), photo(n)).unwrap().unwrap().backed_up;
    assert_eq!((store.backed_up().unwrap(), backed_up(1)), (None, None));
    store.photo_verified(device(1), photo(1), [4; 16], NOW).unwrap();
    store.photo_verified(device(1), photo(2), [4; 16], NOW).unwrap();
    let at = UnixMs(NOW.0 + 5);
    store.note_back_up(at, &[(device(1), photo(1)), (device(1), photo(3))]).unwrap();
    assert_eq!(store.backed_up().unwrap(), Some(at));
    assert_eq!([backed_up(1), backed_up(2), backed_up(3)], [Some(at), None, None], "held, not held, not verified");
    store.note_back_up(UnixMs(NOW.0 + 9), &[]).unwrap();
    assert_eq!((store.backed_up().unwrap(), backed_up(1)), (Some(UnixMs(NOW.0 + 9)), Some(at)));
}

pub(crate) fn closed_doors_let_nobody_in_and_throw_no_phone_out(place: &impl Place) {
    let store = place.open();
    let invitation = |code: u8, prefix: &[u8; 3]| Invitation {
        digest: CodeDigest([code; 32]),
        prefix: Prefix(*prefix),
        sites: vec![site(1)],
        name: None,
        made: NOW,
        expires: UnixMs(NOW.0 + LIFE_MS),
    };
    let joining = |code: u8, prefix: &[u8; 3]| Joining {
        digest: CodeDigest([code; 32]),
        prefix: Prefix(*prefix),
        device: device(code),
        token: token(code),
        at: NOW,
    };
    for (code, prefix) in [(1, b"BCD"), (2, b"FGH")] {
        assert_eq!(store.invite(&invitation(code, prefix)).unwrap(), Invited::Kept);
    }
    let joined = Redeemed::Joined { sites: vec![site(1)] };
    assert_eq!(store.redeem(&joining(1, b"BCD")).unwrap(), joined);
    let id = ObserverId::from_octets([1; 16]);
    let everywhere = [Grant { role: Role::Administer, site: None }];
    store.add_coordinator(id, "Invented Ada", &everywhere, token(60), NOW).unwrap();
    store.sign_in(token(60), token(50), NOW).unwrap();
    store.add_coordinator(id, "Invented Ada", &everywhere, token(61), NOW).unwrap();

    store.close_doors().unwrap();
    assert_eq!(store.session(token(50), NOW).unwrap(), None);
    assert!(!store.sign_in(token(61), token(51), NOW).unwrap());
    assert_eq!(store.redeem(&joining(2, b"FGH")).unwrap(), Redeemed::Unknown);
    assert!(store.token(token(1)).unwrap().is_some());
    assert_eq!(store.redeem(&joining(1, b"BCD")).unwrap(), joined, "who had joined has");
}

pub(crate) fn a_name_is_forgotten_and_its_bearer_stays(place: &impl Place) {
    let store = place.open();
    let id = ObserverId::from_octets([1; 16]);
    let everywhere = [Grant { role: Role::Administer, site: None }];
    store.add_coordinator(id, "Invented Ada", &everywhere, token(60), NOW).unwrap();
    store.sign_in(token(60), token(50), NOW).unwrap();
    let invitation = Invitation {
        digest: CodeDigest([1; 32]),
        prefix: Prefix(*b"BCD"),
        sites: vec![],
        name: Some("Invented Ben".into()),
        made: NOW,
        expires: UnixMs(NOW.0 + LIFE_MS),
    };
    store.invite(&invitation).unwrap();
    let joining =
        Joining { digest: CodeDigest([1; 32]), prefix: Prefix(*b"BCD"), device: device(1), token: token(1), at: NOW };
    store.redeem(&joining).unwrap();
    assert_eq!(store.devices().unwrap()[0].name.as_deref(), Some("Invented Ben"));
    assert_eq!(store.forget_name("Nobody").unwrap(), 0);
    assert!(store.forget_name("Invented Ben").unwrap() > 0);
    assert_eq!(store.devices().unwrap()[0].name, None);
    assert!(store.forget_name("Invented Ada").unwrap() > 0);
    let ada = store.session(token(50), NOW).unwrap().unwrap();
    assert_eq!((ada.id, ada.grants.len()), (id, 1));
    assert!(!ada.name.contains("Ada"), "{}", ada.name);
    store.scrub().unwrap();
    assert_eq!(store.forget_name("Invented Ada").unwrap(), 0);
}
