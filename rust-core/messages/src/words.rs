//! Words for things of the survey model.

use crate::{Arg, Language, say};
use survey::check::{Condition, Extent, RefusedFor};
use survey::finding::Finding;
use survey::fold::Standing;
use survey::protocol::{Host, PlantChoice, SearchRule, Unit};
use survey::site::ManagementKind;
use survey::stage::{AnimalState, Outcome, Stage, What};
use survey::visit::{AdultAct, Beaufort, HostsUp, Oktas, Rain, Weather};

/// Milliseconds in a minute.
const MINUTE_MS: u64 = 60_000;

/// A stage: "larva 3".
pub fn stage(language: Language, stage: Stage) -> String {
    say(language, &format!("stage.{}", stage.name()), &[])
}

/// An outcome: a stage, or "not an animal or not this species".
pub fn outcome(language: Language, outcome: Outcome) -> String {
    match outcome {
        Outcome::Stage(own) => stage(language, own),
        Outcome::NotThis => say(language, "outcome.none", &[]),
    }
}

/// What was counted: a stage, or "larva 2 or larva 3", or "egg, or not an egg".
pub fn what(language: Language, what: &What) -> String {
    match what {
        What::Stage(own) => stage(language, *own),
        What::Undecided(set) => {
            let own = format!("undecided.{what}");
            if crate::knows(&own) {
                return say(language, &own, &[]);
            }
            let outcomes = set.outcomes().map(|one| outcome(language, one));
            outcomes
                .reduce(|first, second| say(language, "list.or", &[("first", first.into()), ("second", second.into())]))
                .unwrap_or_default()
        }
    }
}

/// The state of an animal.
pub fn state(language: Language, state: AnimalState) -> String {
    say(language, &format!("state.{}", state.name()), &[])
}

/// The unit of a check: "stem".
pub fn unit(language: Language, unit: Unit) -> String {
    say(language, &format!("unit.{}", unit.name()), &[])
}

/// Units with their number: "12 stems".
pub fn units(language: Language, number: u64, unit: Unit) -> String {
    let id = match unit {
        Unit::Stem => "count.stems",
        Unit::Clump => "count.clumps",
    };
    say(language, id, &[("number", number.into())])
}

/// A host plant: its scientific name, or words where there is none.
pub fn host(language: Language, host: Option<&Host>) -> String {
    match host {
        None => say(language, "host.none", &[]),
        Some(Host::Species(name)) => name.clone(),
        Some(own @ (Host::NotDetermined | Host::NotMilkweed)) => say(language, &format!("host.{}", own.name()), &[]),
    }
}

/// Whether a check enters estimates.
pub fn standing(language: Language, standing: Standing) -> String {
    let id = match standing {
        Standing::Enters => "standing.enters",
        Standing::Open => "standing.open",
        Standing::Part => "standing.part",
        Standing::Refused => "standing.refused",
        Standing::SecondLook => "standing.second-look",
        Standing::Disputed => "standing.disputed",
        Standing::NotMilkweed => "standing.not-milkweed",
        Standing::NotOpened => "standing.not-opened",
    };
    say(language, id, &[])
}

/// How much of a plant was searched.
pub fn extent(language: Language, extent: Extent) -> String {
    let id = match extent {
        Extent::Whole => "extent.whole",
        Extent::Part => "extent.part",
        Extent::Refused(RefusedFor::OutOfReach) => "extent.refused.out-of-reach",
        Extent::Refused(RefusedFor::Danger) => "extent.refused.danger",
        Extent::Refused(RefusedFor::CouldNotSee) => "extent.refused.could-not-see",
        Extent::Refused(RefusedFor::WouldHarm) => "extent.refused.would-harm",
        Extent::Refused(RefusedFor::Other) => "extent.refused.other",
    };
    say(language, id, &[])
}

/// Condition of a plant.
pub fn condition(language: Language, condition: Condition) -> String {
    let id = match condition {
        Condition::Sound => "condition.sound",
        Condition::Cut => "condition.cut",
        Condition::EatenBack => "condition.eaten-back",
        Condition::DriedUp => "condition.dried-up",
        Condition::Diseased => "condition.diseased",
    };
    say(language, id, &[])
}

/// How plants were chosen.
pub fn choice(language: Language, choice: PlantChoice) -> String {
    let id = match choice {
        PlantChoice::EveryKth { .. } => "choice.every-kth",
        PlantChoice::Clusters { .. } => "choice.clusters",
        PlantChoice::Tagged => "choice.tagged",
        PlantChoice::All => "choice.all",
        PlantChoice::ObserversChoice => "choice.observers-choice",
    };
    say(language, id, &[])
}

/// What of a plant is searched.
pub fn search(language: Language, rule: SearchRule) -> String {
    let id = match rule {
        SearchRule::Whole => "search.whole",
        SearchRule::UpperThird => "search.upper-third",
        SearchRule::LeafUnderSides => "search.leaf-under-sides",
    };
    say(language, id, &[])
}

/// Whether host plants were up.
pub fn hosts_up(language: Language, hosts: HostsUp) -> String {
    let id = match hosts {
        HostsUp::Yes => "hosts-up.yes",
        HostsUp::None => "hosts-up.none",
        HostsUp::AllMown => "hosts-up.all-mown",
    };
    say(language, id, &[])
}

/// What an adult did.
pub fn adult(language: Language, act: AdultAct) -> String {
    let id = match act {
        AdultAct::Laying => "adult.laying",
        AdultAct::Feeding => "adult.feeding",
        AdultAct::Mating => "adult.mating",
        AdultAct::Flying => "adult.flying",
    };
    say(language, id, &[])
}

/// What was done to a site.
pub fn management(language: Language, kind: ManagementKind) -> String {
    let id = match kind {
        ManagementKind::Cut => "management.cut",
        ManagementKind::Grazed => "management.grazed",
        ManagementKind::Burnt => "management.burnt",
        ManagementKind::Sprayed => "management.sprayed",
        ManagementKind::HerbicideNear => "management.herbicide-near",
    };
    say(language, id, &[])
}

/// Wind by the Beaufort scale.
pub fn beaufort(language: Language, wind: Beaufort) -> String {
    say(language, &format!("beaufort.{}", wind.force()), &[])
}

/// Cloud in eighths.
pub fn cloud(language: Language, cloud: Oktas) -> String {
    match cloud.code() {
        code @ (0 | 8 | 9) => say(language, &format!("cloud.{code}"), &[]),
        some => say(language, "cloud.some", &[("number", u32::from(some).into())]),
    }
}

/// Rain.
pub fn rain(language: Language, rain: Rain) -> String {
    let id = match rain {
        Rain::None => "rain.none",
        Rain::Drizzle => "rain.drizzle",
        Rain::Light => "rain.light",
        Rain::Moderate => "rain.moderate",
        Rain::Heavy => "rain.heavy",
    };
    say(language, id, &[])
}

/// All of the weather that was noted, in one line.
pub fn weather(language: Language, weather: &Weather) -> String {
    let air = weather.air_decicelsius.map(|tenths| {
        let celsius = crate::decimal(language, f64::from(tenths) / 10.0, 1);
        say(language, "weather.air", &[("celsius", celsius.into())])
    });
    let wind = weather.beaufort.map(|wind| {
        let words = beaufort(language, wind);
        say(language, "weather.wind", &[("force", u32::from(wind.force()).into()), ("words", words.into())])
    });
    let cloud = weather.cloud.map(|oktas| cloud(language, oktas));
    let rain = weather.rain.map(|own| rain(language, own));
    let noted: Vec<String> = [air, wind, cloud, rain].into_iter().flatten().collect();
    if noted.is_empty() { say(language, "weather.none", &[]) } else { noted.join(", ") }
}

/// A finding, with its arguments.
pub fn finding(language: Language, finding: &Finding) -> String {
    let what_arg = |own: &What| ("what", Arg::from(what(language, own)));
    let args: Vec<(&str, Arg<'_>)> = match finding {
        Finding::ImplausibleCount { what, number, .. } => vec![("number", (*number).into()), what_arg(what)],
        Finding::StageOutsideProtocol { what, .. } | Finding::MatchedTooMany { what, .. } => vec![what_arg(what)],
        Finding::ClockJump { jumped_ms, .. } => {
            vec![("number", jumped_ms.unsigned_abs().div_ceil(MINUTE_MS).into())]
        }
        Finding::EqualNumbers { number, .. } | Finding::HastyEmptyPlants { number, .. } => {
            vec![("number", (*number).into())]
        }
        Finding::Fork { seq, .. } => vec![("seq", (*seq).into())],
        Finding::EndsBeforeStart { .. }
        | Finding::ObserverInTwoVisits { .. }
        | Finding::ClockImplausible { .. }
        | Finding::DurationByWallClock { .. }
        | Finding::NoSpecies { .. }
        | Finding::UnitOutsideProtocol { .. }
        | Finding::EmptyButCounted { .. }
        | Finding::CountedButRefused { .. }
        | Finding::LeftOpen { .. }
        | Finding::NotOpened { .. }
        | Finding::ConflictingValues { .. }
        | Finding::ReviewsDiffer { .. }
        | Finding::SameId { .. }
        | Finding::TakesBackNotOwn { .. }
        | Finding::NamesLaterEntry { .. }
        | Finding::NamesOtherScope { .. } => Vec::new(),
    };
    say(language, finding.message_id(), &args)
}
