//! Laws of photos and texts.

use super::{NOW, Place, by, bytes, device, held, in_visit, push, site, stream};
use crate::store::Store;
use crate::store::UpkeepStore;
use crate::store::access::AccessStore;
use crate::store::blobs::{BlobStore, PART_OCTETS, PHOTO_QUOTA_OCTETS, PartKept, PhotoState, TextKept, TextRow};
use survey::chain::{Hash, Head, blob_hash};
use survey::check::{PhotoOf, PhotoTaken};
use survey::entry::{Act, Erased};
use survey::ids::PhotoId;
use survey::site::Note;

fn photo(n: u8) -> PhotoId {
    PhotoId::from_octets([n; 16])
}

fn taken(n: u8, length: u64) -> Act {
    Act::PhotoTaken(PhotoTaken { photo: photo(n), length, hash: Hash([n; 32]), of: PhotoOf::Site })
}

fn say(store: &impl Store, head: Head, n: u32, act: Act) -> Head {
    let link = head.extend(stream(1), bytes(n, in_visit(1), act));
    held(store, &push(head, std::slice::from_ref(&link), by(1)));
    link.head()
}

pub(crate) fn photos_are_named_by_entries_first(place: &impl Place) {
    let store = place.open();
    assert_eq!(store.photo(device(1), photo(1)).unwrap(), None);
    let head = say(&store, Head::START, 1, taken(1, 2 * PART_OCTETS + 5));
    let row = store.photo(device(1), photo(1)).unwrap().unwrap();
    assert_eq!((row.site, row.parts(), row.state.clone()), (site(1), 3, PhotoState::Partial(vec![])));
    assert_eq!([row.part_octets(1), row.part_octets(2), row.part_octets(3)], [Some(PART_OCTETS), Some(5), None]);
    assert_eq!(store.photo(device(2), photo(1)).unwrap(), None, "photos are their device's own");
    for part in [2, 0, 0] {
        assert_eq!(store.part_kept(device(1), photo(1), part).unwrap(), PartKept::Kept);
    }
    let state = |store: &_, n| BlobStore::photo(store, device(1), photo(n)).unwrap().unwrap().state;
    assert_eq!(state(&store, 1), PhotoState::Partial(vec![0, 2]));
    store.drop_parts(device(1), photo(1)).unwrap();
    assert_eq!(state(&store, 1), PhotoState::Partial(vec![]));
    store.photo_verified(device(1), photo(1), [4; 16], NOW).unwrap();
    assert_eq!(state(&store, 1), PhotoState::Verified { at: NOW, salt: [4; 16] });
    assert_eq!(store.photos(site(1)).unwrap().len(), 1);

    let head = say(&store, head, 2, taken(2, PHOTO_QUOTA_OCTETS));
    assert_eq!(store.part_kept(device(1), photo(2), 0).unwrap(), PartKept::OverQuota);
    say(&store, head, 3, Act::Erased(Erased { blob: Hash([1; 32]) }));
    assert_eq!(state(&store, 1), PhotoState::Erased);
    store.photo_verified(device(1), photo(1), [4; 16], NOW).unwrap();
    assert_eq!(state(&store, 1), PhotoState::Erased, "what was erased does not come back");
}

pub(crate) fn texts_are_named_read_and_erased(place: &impl Place) {
    let store = place.open();
    let salt = [3; 16];
    let hash = blob_hash(salt, "gate locked \u{0} on Mondays".as_bytes());
    let text = "gate locked \u{0} on Mondays";
    let put = |store: &_| BlobStore::put_text(store, device(1), hash, salt, text, NOW).unwrap();
    assert_eq!(put(&store), TextKept::NotNamed);
    let head = say(&store, Head::START, 1, Act::Noted(Note { text: hash }));
    assert_eq!(store.texts_wanted(device(1), 5).unwrap(), [hash], "named, and not here");
    assert_eq!(store.texts_wanted(device(2), 5).unwrap(), []);
    assert_eq!([put(&store), put(&store)], [TextKept::Kept, TextKept::Kept]);
    assert_eq!(store.texts_wanted(device(1), 5).unwrap(), []);
    let kept = Some(TextRow::Text { salt, text: text.into() });
    assert_eq!(store.text_for(device(1), hash).unwrap(), kept);
    assert_eq!(store.text_at(site(1), hash).unwrap(), kept);
    assert_eq!(store.text_at(site(2), hash).unwrap(), None);
    assert_eq!(store.text_for(device(2), hash).unwrap(), None);
    store.grant(device(2), site(1), NOW).unwrap();
    assert_eq!(store.text_for(device(2), hash).unwrap(), kept);

    assert!(!store.take_erased());
    say(&store, head, 2, Act::Erased(Erased { blob: hash }));
    assert!(store.take_erased() && !store.take_erased());
    assert_eq!(store.text_for(device(2), hash).unwrap(), Some(TextRow::Erased));
    assert_eq!(put(&store), TextKept::Erased);
    drop(store);
    assert_eq!(place.open().text_at(site(1), hash).unwrap(), Some(TextRow::Erased));
}

pub(crate) fn an_erased_text_never_comes(place: &impl Place) {
    let store = place.open();
    let (salt, text) = ([3; 16], "never arrived");
    let hash = blob_hash(salt, text.as_bytes());
    let head = say(&store, Head::START, 1, Act::Noted(Note { text: hash }));
    say(&store, head, 2, Act::Erased(Erased { blob: hash }));
    assert_eq!(store.put_text(device(1), hash, salt, text, NOW).unwrap(), TextKept::Erased);
    assert_eq!(store.texts_wanted(device(1), 5).unwrap(), [], "what was erased is not asked for");
    // Another phone erases nothing of ours.
    let other = blob_hash(salt, b"theirs");
    let link = Head::START.extend(stream(2), bytes(9, in_visit(1), Act::Noted(Note { text: other })));
    held(&store, &push(Head::START, std::slice::from_ref(&link), by(2)));
    let foreign = link.head().extend(stream(2), bytes(10, in_visit(1), Act::Erased(Erased { blob: hash })));
    held(&store, &push(link.head(), std::slice::from_ref(&foreign), by(2)));
    assert_eq!(store.put_text(device(2), other, salt, "theirs", NOW).unwrap(), TextKept::Kept);
}
