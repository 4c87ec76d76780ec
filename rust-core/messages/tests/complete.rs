//! Everything that the other crates name is in the catalogue, in every language, with all arguments filled in.

use messages::{Language, knows, words};
use std::collections::BTreeSet;
use survey::check::{Condition, Extent, RefusedFor};
use survey::finding::Finding;
use survey::fold::Standing;
use survey::ids::{CheckId, DeviceId, EntryId, ObserverId, VisitId};
use survey::protocol::{Host, PlantChoice, SearchRule, Unit};
use survey::site::ManagementKind;
use survey::stage::{AnimalState, Outcome, Stage, What};
use survey::visit::{AdultAct, HostsUp, Rain, Weather};
use sync::wire::problem::ProblemType;

/// One of each. The match makes a kind of finding that is added to the model, and not here, an error of compilation.
fn findings() -> Vec<Finding> {
    let check = CheckId::from_octets([1; 16]);
    let visit = VisitId::from_octets([2; 16]);
    let device = DeviceId::from_octets([3; 16]);
    let entry = EntryId::from_octets([4; 16]);
    let what = || "larva2+larva3".parse::<What>().unwrap();
    let mut all = vec![Finding::ImplausibleCount { check, what: what(), number: 60 }];
    while let Some(next) = match all.last().unwrap() {
        Finding::ImplausibleCount { .. } => Some(Finding::EndsBeforeStart { visit }),
        Finding::EndsBeforeStart { .. } => Some(Finding::ObserverInTwoVisits {
            observer: ObserverId::from_octets([5; 16]),
            visits: [visit, VisitId::from_octets([6; 16])],
        }),
        Finding::ObserverInTwoVisits { .. } => Some(Finding::ClockJump { device, jumped_ms: -61_000 }),
        Finding::ClockJump { .. } => Some(Finding::ClockImplausible { device }),
        Finding::ClockImplausible { .. } => Some(Finding::DurationByWallClock { visit, device }),
        Finding::DurationByWallClock { .. } => Some(Finding::NoSpecies { check }),
        Finding::NoSpecies { .. } => Some(Finding::StageOutsideProtocol { check: None, what: what() }),
        Finding::StageOutsideProtocol { .. } => Some(Finding::UnitOutsideProtocol { check }),
        Finding::UnitOutsideProtocol { .. } => {
            Some(Finding::EqualNumbers { number: 4, checks: BTreeSet::from([check]) })
        }
        Finding::EqualNumbers { .. } => Some(Finding::HastyEmptyPlants { device, number: 5 }),
        Finding::HastyEmptyPlants { .. } => Some(Finding::EmptyButCounted { check }),
        Finding::EmptyButCounted { .. } => Some(Finding::CountedButRefused { check }),
        Finding::CountedButRefused { .. } => Some(Finding::LeftOpen { check }),
        Finding::LeftOpen { .. } => Some(Finding::NotOpened { check }),
        Finding::NotOpened { .. } => {
            Some(Finding::MatchedTooMany { checks: [check, CheckId::from_octets([7; 16])], what: what() })
        }
        Finding::MatchedTooMany { .. } => Some(Finding::ConflictingValues { check: Some(check) }),
        Finding::ConflictingValues { .. } => Some(Finding::ReviewsDiffer { check, count: entry }),
        Finding::ReviewsDiffer { .. } => Some(Finding::SameId { entry }),
        Finding::SameId { .. } => Some(Finding::TakesBackNotOwn { entry }),
        Finding::TakesBackNotOwn { .. } => Some(Finding::NamesLaterEntry { entry }),
        Finding::NamesLaterEntry { .. } => Some(Finding::NamesOtherScope { entry }),
        Finding::NamesOtherScope { .. } => Some(Finding::Fork { device, seq: 12 }),
        Finding::Fork { .. } => None,
    } {
        all.push(next);
    }
    all
}

#[test]
fn every_finding_has_words() {
    for finding in findings() {
        assert!(knows(finding.message_id()), "{}", finding.message_id());
        for language in Language::ALL {
            whole(&words::finding(language, &finding));
        }
    }
    let english: Vec<_> = findings().iter().map(|finding| words::finding(Language::En, finding)).collect();
    insta::assert_snapshot!(english.join("\n"));
}

#[test]
fn every_id_of_the_season_has_words() {
    use season::{aggregation, clock, degree_days, densities, observers, passage, sampling, sky, years};
    let all = [
        season::id::ALL,
        aggregation::id::ALL,
        clock::id::ALL,
        degree_days::id::ALL,
        densities::id::ALL,
        observers::id::ALL,
        passage::id::ALL,
        sampling::id::ALL,
        sky::id::ALL,
        years::id::ALL,
    ];
    let missing: Vec<_> = all.into_iter().flatten().filter(|id| !knows(id.name())).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[test]
fn every_refusal_of_a_certificate_has_words() {
    use sync::trust::Refusal;
    for refusal in [Refusal::NotPinned, Refusal::OtherKey] {
        assert!(knows(refusal.message()), "{refusal:?}");
    }
}

#[test]
fn every_problem_has_words() {
    let missing: Vec<_> =
        ProblemType::ALL.iter().map(|kind| format!("problem.{}", kind.name())).filter(|id| !knows(id)).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[test]
fn everything_of_the_model_has_words() {
    let refusals =
        [RefusedFor::OutOfReach, RefusedFor::Danger, RefusedFor::CouldNotSee, RefusedFor::WouldHarm, RefusedFor::Other];
    for language in Language::ALL {
        let mut all = Vec::new();
        all.extend(Stage::ALL.map(|stage| words::stage(language, stage)));
        all.push(words::outcome(language, Outcome::NotThis));
        all.extend([Unit::Stem, Unit::Clump].map(|unit| words::unit(language, unit)));
        all.extend([Unit::Stem, Unit::Clump].map(|unit| words::units(language, 2, unit)));
        all.extend(
            [None, Some(&Host::NotDetermined), Some(&Host::NotMilkweed)].map(|host| words::host(language, host)),
        );
        all.extend([Extent::Whole, Extent::Part].map(|extent| words::extent(language, extent)));
        all.extend(refusals.map(|reason| words::extent(language, Extent::Refused(reason))));
        all.extend(
            [
                Standing::Enters,
                Standing::Open,
                Standing::Part,
                Standing::Refused,
                Standing::SecondLook,
                Standing::Disputed,
                Standing::NotMilkweed,
                Standing::NotOpened,
            ]
            .map(|standing| words::standing(language, standing)),
        );
        all.extend(
            [Condition::Sound, Condition::Cut, Condition::EatenBack, Condition::DriedUp, Condition::Diseased]
                .map(|condition| words::condition(language, condition)),
        );
        all.extend(
            [
                PlantChoice::EveryKth { k: 2, start: 0 },
                PlantChoice::Clusters { radius_m: 2.0, seed: 1 },
                PlantChoice::Tagged,
                PlantChoice::All,
                PlantChoice::ObserversChoice,
            ]
            .map(|choice| words::choice(language, choice)),
        );
        all.extend(
            [SearchRule::Whole, SearchRule::UpperThird, SearchRule::LeafUnderSides]
                .map(|rule| words::search(language, rule)),
        );
        all.extend([HostsUp::Yes, HostsUp::None, HostsUp::AllMown].map(|hosts| words::hosts_up(language, hosts)));
        all.extend(
            [AdultAct::Laying, AdultAct::Feeding, AdultAct::Mating, AdultAct::Flying]
                .map(|act| words::adult(language, act)),
        );
        all.extend(
            [
                ManagementKind::Cut,
                ManagementKind::Grazed,
                ManagementKind::Burnt,
                ManagementKind::Sprayed,
                ManagementKind::HerbicideNear,
            ]
            .map(|kind| words::management(language, kind)),
        );
        all.extend((0..=9).map(|force| words::beaufort(language, force.try_into().unwrap())));
        all.extend((0..=9).map(|code| words::cloud(language, code.try_into().unwrap())));
        all.extend(
            [Rain::None, Rain::Drizzle, Rain::Light, Rain::Moderate, Rain::Heavy]
                .map(|rain| words::rain(language, rain)),
        );
        all.extend(
            [
                AnimalState::Alive,
                AnimalState::AboutToHatch,
                AnimalState::Moulting,
                AnimalState::BeingEaten,
                AnimalState::HatchedShell,
                AnimalState::Collapsed,
                AnimalState::DarkOrHoled,
                AnimalState::LimpOrBlackened,
                AnimalState::ParasitoidLeaving,
                AnimalState::SkinOnly,
            ]
            .map(|state| words::state(language, state)),
        );
        for words in all {
            whole(&words);
        }
    }
}

#[test]
fn doubt_is_said_in_words() {
    let say = |language, what: &str| words::what(language, &what.parse().unwrap());
    assert_eq!(say(Language::En, "egg+none"), "egg, or not an egg");
    assert_eq!(say(Language::Es, "larva2+larva3"), "larva 2 o larva 3");
    assert_eq!(say(Language::Fr, "larva1+larva2+none"), "larve 1 ou larve 2 ou pas un animal ou pas cette espèce");
}

#[test]
fn weather_is_one_line() {
    let weather = Weather {
        air_decicelsius: Some(-15),
        beaufort: Some(3.try_into().unwrap()),
        cloud: Some(1.try_into().unwrap()),
        rain: Some(Rain::None),
    };
    assert_eq!(
        words::weather(Language::Fr, &weather),
        "−1,5 °C dans l’air, vent 3 (petite brise\u{a0}: feuilles sans repos), 1 huitième du ciel couvert, pas de pluie"
    );
    assert_eq!(words::weather(Language::En, &Weather::default()), "weather not noted");
}

/// Words without an id or a placeholder left in them.
fn whole(words: &str) {
    assert!(!knows(words) && !words.contains(['{', '}']) && !words.is_empty(), "{words:?}");
    let looks_like_an_id = words.contains('.') && !words.contains(' ');
    assert!(!looks_like_an_id, "{words:?}");
}
