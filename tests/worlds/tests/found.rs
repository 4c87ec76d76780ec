//! Worlds in which something went wrong once, shrunk, each with one line saying what it was.

use worlds::Coverage;
use worlds::run::{Plan, Stage};

/// What went wrong, the seed, phones at the beginning, the steps.
const FOUND: &[(&str, u64, u64, &str)] = &[
    (
        "after a fresh epoch under a slower clock a take-back stood before what it took back, and had no effect",
        44,
        1,
        "1:kill-in-job:e0c0047ad9a1df8,2:tap:ddcc39180ac36f04,1:clone:d296c3420d4fa987,1:take-back:d1d58b68905a28b9",
    ),
    (
        "a stream that a file had brought whole was claimed by nobody, for its phone had nothing left to push",
        51,
        2,
        "3:tap:a68dd1ee03e6e3e5,3:hand-over:18d9c5267fa7e97c",
    ),
    (
        "an entry was taken back without a visit in hand, and the person was told that it was not",
        67,
        1,
        "1:phone-full:9c2e10222a771ab7,2:tap:bfcaa1f42e64423a,0:take-back-entry:f40b484f5088ac31",
    ),
    (
        "the answer to a placeholder was lost, hello counted it as held, and the entry never came",
        2534,
        3,
        "0:tap:cb1944c6776f1790,0:sync:9f2f4be79cb7443a,0:close-plant:6499c2f3a42bd727,0:sync:e8dd8ba94842c4a4",
    ),
    (
        "a phone was restored to before it sent a placeholder, and took the entry for sent",
        1485,
        1,
        "0:tap:1d61d626dddf6027,2:sync:1fe6fd3e1d5585f4,1:back-up:f126641cba2f3ce8,1:sync-good:21070ff23c2f1ed9,\
         1:restore:8f625ba4207a8eb6",
    ),
    (
        "after a join was taken back the station folded into the first visit what stood under the second one's id",
        103_958,
        1,
        "1:empty-plant:4e06233238cae45e,3:begin:114a1a4121c9cab9,0:join-visits:a0529032622cc498,\
         3:empty-plant:6a4dc92e66cf733d,0:take-back-entry:d71849666213c61a",
    ),
    (
        "after a join was taken back another visit was in hand until the next start",
        115_532,
        2,
        "2:close-plant:59cc88aac4408a17,2:count-many:feda19efd5b01d24,1:clock-jump:a34b44feb4587a1e,\
         3:begin-beside:7b7232672b6dfbc7,3:tap:5b31768ae58c2694,2:new-site:a117df5db4fdd017,\
         0:sync:b261b1f0c0294af4,2:see-egg:9e7e00bed119cb12,1:take-back-entry:397364ecac918c5a,\
         0:photo:2cacfdb270dbc163,2:next-plant:e741c69c5e001665,2:take-back:eeb5a1903aff9c7c,\
         0:take-back-entry:9bdc97dbfd1668c5,3:sync-good:8697f7f45940a349,2:sync:8f93a0a8b731455e,\
         2:kill:4c8cfbede7c2d233",
    ),
];

#[test]
fn what_was_found_stays_mended() {
    let folder = tempfile::tempdir().unwrap();
    let mut stage = Stage::new(folder.path()).unwrap();
    for (what, seed, phones, steps) in FOUND {
        let steps = steps.split(',').map(|step| step.trim().parse().unwrap()).collect();
        let plan = Plan { seed: *seed, phones: *phones, steps };
        let played = stage.play(&plan, &mut Coverage::default());
        assert!(played.is_ok(), "{what}: {played:?}");
    }
}
