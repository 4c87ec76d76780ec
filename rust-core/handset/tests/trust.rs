//! The keys of a scanned station: kept over restarts, given out with every job, moved on by what the station announces.

mod common;

use ::sync::trust::Scanned;
use common::{open, script};
use handset::sync::{Asker, By, Chain, Judgement, KeyHash, Metered, Pins, Refusal, judge};
use handset::{Kind, Why};

const HOME: &str = "https://station.invented.example:8787";

fn key(n: u8) -> KeyHash {
    KeyHash::of_spki(&[n])
}

fn invitation(address: &str, pins: Option<Pins>) -> String {
    Scanned { address: address.into(), code: "BCD-FGH-JKL".into(), pins }.text()
}

#[test]
fn what_was_scanned_goes_out_with_every_job_and_follows_the_station() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(1);
    let mut phone = open(folder.path(), &script);
    let pins = Pins { pin: key(1), next: None };
    let joining = phone.join_scanned(&invitation(HOME, Some(pins))).unwrap();
    assert_eq!((joining.address.as_str(), joining.token.len()), (HOME, 64));
    phone.sync_wanted(Asker::Person, Metered::No).unwrap();
    let job = phone.next_job().unwrap().unwrap();
    let trust = job.trust.clone().unwrap();
    assert_eq!((trust.address.as_str(), trust.pins), (HOME, pins));
    assert_eq!(judge(job.trust.as_ref(), HOME, Chain::Private, key(1)), Judgement::Accept(By::Pin));

    // The station announces its next key, the phone is restarted, the station is renewed.
    phone.connection_accepted(key(1), Some(&key(2).to_string())).unwrap();
    phone.connection_accepted(key(1), Some("nonsense")).unwrap();
    phone.connection_accepted(key(9), Some(&key(8).to_string())).unwrap();
    drop(phone);
    let mut phone = open(folder.path(), &script);
    let trust = |phone: &handset::Handset| phone.trust().unwrap();
    let kept = trust(&phone).unwrap();
    assert_eq!(kept.pins, Pins { pin: key(1), next: Some(key(2)) });
    assert_eq!(judge(Some(&kept), HOME, Chain::Private, key(2)), Judgement::Accept(By::NextPin));
    phone.connection_accepted(key(2), Some(&key(3).to_string())).unwrap();
    drop(phone);
    let mut phone = open(folder.path(), &script);
    assert_eq!(trust(&phone).unwrap().pins, Pins { pin: key(2), next: Some(key(3)) });

    // The same station again without its keys keeps them; another station's keys take their place.
    phone.join_scanned(&invitation(HOME, None)).unwrap();
    drop(phone);
    let mut phone = open(folder.path(), &script);
    assert_eq!(trust(&phone).unwrap().pins.pin, key(2));
    phone.join_scanned(&invitation("https://other.invented.example", None)).unwrap();
    drop(phone);
    assert_eq!(trust(&open(folder.path(), &script)), None);
}

#[test]
fn a_refused_certificate_is_said_until_the_next_sync() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(2));
    phone.join("BCD-FGH-JKL").unwrap();
    let job = phone.next_job().unwrap().unwrap();
    assert_eq!(job.trust, None);
    let judged = judge(job.trust.as_ref(), HOME, Chain::Private, key(1));
    assert_eq!(judged, Judgement::Refuse(Refusal::NotPinned));
    let view = phone.connection_refused(Refusal::NotPinned).unwrap();
    assert_eq!(view.certificate_refused, Some("trust.not-pinned"));
    assert_eq!(phone.sync_wanted(Asker::Person, Metered::No).unwrap().certificate_refused, None);
}

#[test]
fn what_is_no_invitation_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(3));
    phone.join_scanned(&invitation(HOME, Some(Pins { pin: key(1), next: None }))).unwrap();
    for text in ["https://elsewhere.example", "leafturn:join?v=2", "leafturn:join?v=1&address=http://a.example&code=B"]
    {
        let refused = phone.join_scanned(text).unwrap_err();
        assert_eq!(refused.kind, Kind::NotAllowed(Why::TextNotUsable), "{text}");
        assert!(!format!("{refused:?}").contains("elsewhere"), "the text is not repeated");
    }
    assert_eq!(phone.trust().unwrap().unwrap().pins.pin, key(1));
}
