//! Laws of coordinators and sessions.

use super::{NOW, Place, site, token};
use crate::store::coordinators::{CoordinatorStore, Grant, IDLE_MS, LIFE_MS, LINK_MS, Role};
use survey::ids::ObserverId;
use survey::time::UnixMs;

fn after(ms: i64) -> UnixMs {
    UnixMs(NOW.0 + ms)
}

fn add<S: CoordinatorStore>(store: &S, id: u8, name: &str, grants: &[Grant], link: u8) -> ObserverId {
    store.add_coordinator(ObserverId::from_octets([id; 16]), name, grants, token(link), NOW).unwrap()
}

const EVERYWHERE: Grant = Grant { role: Role::Administer, site: None };

pub(crate) fn a_link_opens_one_session_once(place: &impl Place) {
    let store = place.open();
    let id = add(&store, 1, "Invented Ada", &[EVERYWHERE], 1);
    assert!(!store.sign_in(token(2), token(50), NOW).unwrap());
    assert!(store.sign_in(token(1), token(50), NOW).unwrap());
    assert!(!store.sign_in(token(1), token(51), NOW).unwrap(), "once");
    let coordinator = store.session(token(50), NOW).unwrap().unwrap();
    assert_eq!((coordinator.id, coordinator.name.as_str()), (id, "Invented Ada"));
    assert_eq!(store.session(token(51), NOW).unwrap(), None);
    store.sign_out(token(50)).unwrap();
    assert_eq!(store.session(token(50), NOW).unwrap(), None);
    // The same name again is the same person with another link, which waits a day.
    assert_eq!(add(&store, 9, "Invented Ada", &[EVERYWHERE], 3), id);
    assert!(!store.sign_in(token(3), token(52), after(LINK_MS)).unwrap());
}

pub(crate) fn sessions_end_after_a_week_and_with_the_coordinator(place: &impl Place) {
    let store = place.open();
    add(&store, 1, "Invented Ada", &[EVERYWHERE], 1);
    add(&store, 2, "Invented Ben", &[EVERYWHERE], 2);
    store.sign_in(token(1), token(50), NOW).unwrap();
    store.sign_in(token(2), token(60), NOW).unwrap();
    for hours in (6..7 * 24).step_by(6) {
        assert!(store.session(token(50), after(hours * 3_600_000)).unwrap().is_some(), "used every 6 h, at {hours} h");
    }
    assert_eq!(store.session(token(50), after(LIFE_MS)).unwrap(), None);
    // Revoked: the session, the link that waits, and what a later link would open.
    add(&store, 2, "Invented Ben", &[], 3);
    assert!(store.session(token(60), after(1)).unwrap().is_some());
    assert!(store.revoke_coordinator("Invented Ben").unwrap() && !store.revoke_coordinator("Nobody").unwrap());
    assert_eq!(store.session(token(60), after(1)).unwrap(), None);
    assert!(!store.sign_in(token(3), token(61), after(1)).unwrap());
    add(&store, 2, "Invented Ben", &[], 4);
    assert!(store.sign_in(token(4), token(62), after(1)).unwrap());
    assert!(!store.session(token(62), after(1)).unwrap().unwrap().may(Role::Read, site(1)));
}

pub(crate) fn sessions_end_when_idle(place: &impl Place) {
    let store = place.open();
    add(&store, 1, "Invented Ada", &[EVERYWHERE], 1);
    store.sign_in(token(1), token(50), NOW).unwrap();
    assert!(store.session(token(50), after(IDLE_MS - 1)).unwrap().is_some());
    drop(store);
    let store = place.open();
    assert!(store.session(token(50), after(2 * IDLE_MS - 2)).unwrap().is_some(), "use keeps it alive");
    assert!(store.session(token(50), after(3 * IDLE_MS)).unwrap().is_none());
}

pub(crate) fn roles_reach_as_far_as_they_were_given(place: &impl Place) {
    let store = place.open();
    let grant = |role, n| Grant { role, site: Some(site(n)) };
    add(&store, 1, "Invented Ben", &[grant(Role::Review, 1), grant(Role::Read, 2)], 1);
    // A lesser grant later takes nothing away.
    add(&store, 1, "Invented Ben", &[grant(Role::Read, 1)], 2);
    store.sign_in(token(1), token(50), NOW).unwrap();
    let ben = store.session(token(50), NOW).unwrap().unwrap();
    for (role, n, may) in [
        (Role::Read, 1, true),
        (Role::Review, 1, true),
        (Role::Administer, 1, false),
        (Role::Read, 2, true),
        (Role::Review, 2, false),
        (Role::Read, 3, false),
    ] {
        assert_eq!(ben.may(role, site(n)), may, "{role:?} {n}");
    }
    assert!(!ben.may_everywhere(Role::Read));
}
