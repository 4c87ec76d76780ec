//! Every status with every content type: only the station's own words count.

use super::phone::{Db, Phone, site};
use super::station::{Station, problem, settle};
use crate::engine::*;
use crate::wire::content;
use crate::wire::problem::{Problem, ProblemType};
use crate::wire::push::Pushed;
use survey::chain::Seq;

/// What the phone makes of an answer to a batch of 40 entries.
#[derive(Debug, PartialEq, Eq)]
enum Made {
    /// Nothing of the station's came: the same again after a back-off of at most two seconds.
    NetworkError,
    /// The station has trouble: the same again after a back-off of at most two seconds.
    Trouble,
    /// The station asked for so many seconds.
    Waits(u64),
    /// So many entries are tried next, at once.
    Tries(usize),
    /// Hello is tried next, at once.
    Greets,
    Parked,
    NeedsJoining,
    UpdateNeeded,
    /// This stream waits by itself, and so many entries are tried then.
    StreamWaits(usize),
    SetAside,
}

/// A phone that has just pushed 40 entries.
fn pushing() -> (Phone, Station, Job) {
    let (mut phone, mut station) = (Phone::new(Db::new(1)), Station::new());
    phone.count_many(40);
    phone.sync();
    let (hello, body) = phone.job().unwrap();
    assert_eq!(hello.work, Work::Hello);
    let answer = station.answer(&hello, &body);
    phone.tell(Input::Outcome { job: hello.id, outcome: Outcome::Answered(answer) });
    let (push, _) = phone.job().unwrap();
    assert!(matches!(push.work, Work::Push { first: Seq(1), most: 40, .. }), "{push:?}");
    phone.events.clear();
    (phone, station, push)
}

fn made(outcome: Outcome) -> Made {
    let (mut phone, mut station, push) = pushing();
    phone.tell(Input::Outcome { job: push.id, outcome });
    let event = |seen: &dyn Fn(&Event) -> bool| phone.events.iter().any(seen);
    assert!(!event(&|event| matches!(event, Event::Acknowledged { .. })), "nothing was acknowledged");
    let flags = [
        (event(&|event| matches!(event, Event::Parked { .. })), Made::Parked),
        (event(&|event| matches!(event, Event::NeedsJoining)), Made::NeedsJoining),
        (event(&|event| matches!(event, Event::UpdateNeeded)), Made::UpdateNeeded),
        (event(&|event| matches!(event, Event::SetAside { .. })), Made::SetAside),
    ];
    let waiting = phone.events.iter().find_map(|event| match event {
        Event::WaitingUntil { up_ms, why } => Some((*up_ms - phone.up_ms, *why)),
        _ => None,
    });
    let next = phone.job().map(|(job, _)| job.work);
    let made = flags.into_iter().find_map(|(seen, made)| seen.then_some(made));
    let made = made.unwrap_or_else(|| match (waiting, next) {
        (Some((ms, WaitReason::Asked)), None) => Made::Waits(ms / 1000),
        (Some((1..=2000, WaitReason::Network)), None) => Made::NetworkError,
        (Some((1..=2000, WaitReason::Station)), None) => Made::Trouble,
        (None, Some(Work::Hello)) => Made::Greets,
        (None, Some(Work::Push { first: Seq(1), most, .. })) => Made::Tries(most),
        (None, None) => {
            phone.up_ms = phone.engine.next_wake().expect("it waits for a time");
            phone.tell(Input::Timer);
            match phone.job().map(|(job, _)| job.work) {
                Some(Work::Push { first: Seq(1), most, .. }) => Made::StreamWaits(most),
                other => panic!("{other:?}"),
            }
        }
        other => panic!("{other:?}"),
    });
    // Whatever it was, a good network then leads to everything sent, once the phone may.
    if matches!(made, Made::NeedsJoining | Made::UpdateNeeded) {
        assert!(phone.job().is_none(), "nothing more is tried");
        phone.db.joined = Joined::Yes;
    }
    phone.restart();
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(phone.db.acknowledged(), phone.db.head());
    made
}

fn answer(status: u16, content_type: &str, body: &str) -> Outcome {
    let body = body.as_bytes().to_vec();
    Outcome::Answered(Response { status, content_type: content_type.into(), body, ..Response::default() })
}

/// 2xx and 4xx count with the station's content type and shape only; 5xx and 408 are trouble whoever says them.
#[test]
fn without_the_stations_type_and_shape_a_status_says_little() {
    let ours = serde_json::to_string(&Pushed { held: pushing().0.db.head(), branches: Vec::new() }).unwrap();
    let gap = serde_json::to_string(&Problem::new(ProblemType::Gap)).unwrap();
    let portal = "<html>Please sign in</html>";
    for status in [100, 200, 201, 204, 301, 302, 304, 307, 400, 401, 403, 404, 407, 409, 410, 413, 415, 426, 429, 451] {
        for (content_type, body) in [
            ("text/html", portal),
            ("text/html", &ours),
            ("", &ours),
            ("application/json", &ours),
            ("application/json", &gap),
            ("text/plain", &gap),
            (content::PROBLEM, portal),
            (content::PROBLEM, "{}"),
            (content::PROBLEM, r#"{"type":"about:blank","title":"Forbidden","status":403}"#),
            (content::JSON, portal),
            (content::JSON, "{}"),
        ] {
            assert_eq!(made(answer(status, content_type, body)), Made::NetworkError, "{status} {content_type} {body}");
        }
    }
    for status in [408, 500, 501, 502, 504, 511, 599] {
        for (content_type, body) in [("text/html", portal), ("", ""), (content::JSON, &ours), (content::PROBLEM, "{}")]
        {
            assert_eq!(made(answer(status, content_type, body)), Made::Trouble, "{status} {content_type}");
        }
    }
    assert_eq!(made(Outcome::Failed), Made::NetworkError);
    assert_eq!(made(answer(409, content::JSON, &ours)), Made::NetworkError, "a success of an odd status is none");
    assert_eq!(made(answer(200, content::PROBLEM, &gap)), Made::NetworkError, "a problem of status 200 is none");
}

#[test]
fn the_stations_problems_each_have_their_answer() {
    for kind in ProblemType::ALL {
        let expected = match kind {
            ProblemType::Gap => Made::Greets,
            ProblemType::HashMismatch => Made::NetworkError,
            ProblemType::TooLarge | ProblemType::Refused | ProblemType::Malformed => Made::Tries(20),
            ProblemType::NotJoined => Made::NeedsJoining,
            ProblemType::StreamNotYours => Made::Parked,
            ProblemType::UpdateNeeded => Made::UpdateNeeded,
            ProblemType::SlowDown | ProblemType::TryLater => Made::Waits(30),
            ProblemType::Internal => Made::StreamWaits(20),
            ProblemType::FeedRestarted
            | ProblemType::SendAgain
            | ProblemType::NotNamed
            | ProblemType::WrongCode
            | ProblemType::CodeUsed
            | ProblemType::CodeDead
            | ProblemType::NotAMember
            | ProblemType::NotFound
            | ProblemType::WrongMethod
            | ProblemType::WrongContentType
            | ProblemType::Quota
            | ProblemType::Other(_) => Made::SetAside,
        };
        let waits = matches!(expected, Made::Waits(_));
        let said = Problem { retry_after: waits.then_some(30), ..Problem::new(kind.clone()) };
        assert_eq!(made(Outcome::Answered(problem(&said))), expected, "{kind}");
        let with_charset =
            Response { content_type: "Application/Problem+JSON; charset=utf-8".into(), ..problem(&said) };
        assert_eq!(made(Outcome::Answered(with_charset)), expected, "{kind}");
    }
    let newer = Problem::new(ProblemType::Other("urn:leafturn:problem:moon-phase".into()));
    let newer = Response { status: 400, ..problem(&newer) };
    assert_eq!(made(Outcome::Answered(newer)), Made::SetAside, "of a newer station");
}

#[test]
fn waits_that_the_station_asks_for_are_kept() {
    let later = |field: &str, response: Response| {
        made(Outcome::Answered(Response { retry_after: Some(field.into()), ..response }))
    };
    let html = |status| Response { status, content_type: "text/html".into(), ..Response::default() };
    let ours = || problem(&Problem::new(ProblemType::SlowDown));
    assert_eq!(later("120", ours()), Made::Waits(120));
    assert_eq!(later("120", html(503)), Made::Waits(120), "a balancer may say it");
    assert_eq!(later("120", html(429)), Made::NetworkError, "without the station's type it is a network error");
    assert_eq!(later("999999", ours()), Made::Waits(MOST_ASKED_MS / 1000));
    assert_eq!(later("soon", html(503)), Made::Trouble);
    let body_says_more = problem(&Problem::new(ProblemType::SlowDown).retry_after(90));
    assert_eq!(later("10", body_says_more), Made::Waits(90));

    let (mut phone, _, push) = pushing();
    let asked = Response { retry_after: Some("120".into()), ..ours() };
    phone.tell(Input::Outcome { job: push.id, outcome: Outcome::Answered(asked) });
    phone.sync();
    assert!(phone.job().is_none(), "not even a person ends it");
    assert_eq!(phone.engine.next_wake(), Some(phone.up_ms + 120_000));
    phone.up_ms += 120_000;
    phone.tell(Input::Timer);
    assert!(phone.job().is_some());
}

#[test]
fn back_off_grows_to_five_minutes_and_a_person_ends_it() {
    let (mut phone, mut station, push) = pushing();
    let mut job = push.id;
    let mut longest = 0;
    for failures in 1..40 {
        phone.tell(Input::Outcome { job, outcome: Outcome::Failed });
        let wake = phone.engine.next_wake().expect("it waits");
        let wait = wake - phone.up_ms;
        assert!((1..=ceiling(failures)).contains(&wait), "{wait} ms after {failures} failures");
        longest = longest.max(wait);
        phone.up_ms = wake - 1;
        phone.tell(Input::Timer);
        assert!(phone.job().is_none(), "nothing is tried before its time");
        // The stream itself may wait a little longer than the whole.
        job = loop {
            phone.up_ms = phone.engine.next_wake().expect("it goes on").max(phone.up_ms + 1);
            phone.tell(Input::Timer);
            if let Some((job, _)) = phone.job() {
                break job.id;
            }
        };
    }
    assert!(longest > MOST_MS / 2);
    phone.tell(Input::Outcome { job, outcome: Outcome::Failed });
    phone.sync();
    assert!(phone.job().is_some(), "at once");
    phone.restart();
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(phone.events.last(), Some(&Event::AllSent));
}

#[test]
fn unknown_jobs_are_ignored() {
    let (mut phone, _, push) = pushing();
    for job in [JobId(0), JobId(push.id.0 + 1), JobId(u64::MAX)] {
        phone.tell(Input::Outcome { job, outcome: answer(401, content::PROBLEM, "") });
        phone.tell(Input::NotMade { job, why: NotMade::TryLater });
    }
    assert_eq!(phone.events, []);
    phone.tell(Input::Outcome { job: push.id, outcome: Outcome::Failed });
    phone.events.clear();
    phone.tell(Input::Outcome { job: push.id, outcome: Outcome::Failed });
    assert_eq!(phone.events, [], "an outcome counts once");
}

#[test]
fn jobs_as_they_are_stored() {
    let (phone, _, push) = pushing();
    let stream = phone.db.current;
    let photo = survey::ids::PhotoId::from_octets([4; 16]);
    let works = [
        Work::Hole { stream, seq: Seq(3), reason: crate::wire::push::HoleReason::Refused },
        Work::Fill { stream, seq: Seq(3) },
        Work::Feed { after: crate::wire::hello::FeedCursor::start(site()) },
        Work::Verdicts { stream, after: 2 },
        Work::Text { hash: survey::chain::Hash::ZERO },
        Work::Part { photo, n: 1 },
        Work::PhotoState { photo },
        Work::Enrol,
        Work::Hello,
    ];
    let jobs: Vec<Job> = works.into_iter().map(|work| work.job(JobId(9), stream.device)).chain([push]).collect();
    insta::assert_json_snapshot!(jobs);
    let again: Vec<Job> = serde_json::from_str(&serde_json::to_string(&jobs).unwrap()).unwrap();
    assert_eq!(again, jobs);
}
