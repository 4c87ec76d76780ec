//! The invented season: four sites that do not exist, eight weeks that never were, and what five people tap.
//!
//! Everything here is made up, the places and their names too. Numbers are drawn from a seed, so that every run plays
//! the same season: eggs per stem are negative binomial around a curve over the weeks, later instars are fewer.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Bernoulli, Distribution, Gamma, Poisson, Uniform};
use std::collections::BTreeMap;
use survey::place::{Area, Pin, Place, PublicPrecision};
use survey::protocol::Host;
use survey::site::Privacy;
use survey::stage::{AnimalState, Stage, Undecided, What};
use survey::visit::{Beaufort, Oktas, Rain, Weather};

/// Weeks from the first visit to the last.
pub const WEEKS: u32 = 8;
/// 2026-06-06 14:00 UTC, a Saturday morning at the invented places.
pub const FIRST_VISIT_MS: i64 = 1_780_754_400_000;
/// Milliseconds of a week.
pub const WEEK_MS: i64 = 7 * 24 * 60 * 60 * 1000;

/// A phone of the season. Each belongs to one person.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Phone {
    /// Counts at Quarry Rim.
    Quarry,
    /// Counts at Ferry Meadow.
    Ferry,
    /// Counts at Signal Verge, with the next.
    SignalOne,
    /// Counts at Signal Verge, with the one before.
    SignalTwo,
    /// Counts at Tannery Field; its way home drops and repeats.
    Tannery,
}

/// A site.
#[derive(Debug, Clone)]
pub struct SitePlan {
    /// Its invented name.
    pub name: &'static str,
    /// Where it is.
    pub place: Place,
    /// How finely that is published.
    pub precision: PublicPrecision,
    /// Whose land.
    pub private: Privacy,
    /// Who counts there.
    pub phones: &'static [Phone],
    /// Stems expected.
    pub stems: u32,
    /// The visits, one a week; a week without one is left out.
    pub visits: Vec<VisitPlan>,
}

/// A visit.
#[derive(Debug, Clone)]
pub struct VisitPlan {
    /// Week from 0.
    pub week: u32,
    /// Weather.
    pub weather: Weather,
    /// How the phones of the visit came together.
    pub meeting: Meeting,
    /// The plants that each phone checks.
    pub plants: BTreeMap<Phone, Vec<PlantPlan>>,
}

/// How the phones of a visit came together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meeting {
    /// One phone.
    Alone,
    /// The second phone typed the first one's visit code.
    ByCode,
    /// Each began a visit of its own; they are joined at home.
    JoinedLater,
}

/// A plant and what is tapped on it.
#[derive(Debug, Clone)]
pub struct PlantPlan {
    /// Its species.
    pub host: Host,
    /// The taps; none is an empty plant, which costs one act in all.
    pub taps: Vec<Tap>,
}

/// One tap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tap {
    /// Something counted.
    Count(What, AnimalState),
    /// The last tap taken back.
    TakeBack,
    /// The take-back taken back.
    Redo,
}

/// Living animals that stand after all take-backs, by what they were counted as.
pub fn standing(taps: &[Tap]) -> BTreeMap<What, u64> {
    let mut stack: Vec<(&What, AnimalState)> = Vec::new();
    let mut undone: Option<(&What, AnimalState)> = None;
    for tap in taps {
        match tap {
            Tap::Count(what, state) => {
                stack.push((what, *state));
                undone = None;
            }
            Tap::TakeBack => undone = stack.pop(),
            Tap::Redo => stack.extend(undone.take()),
        }
    }
    let mut numbers = BTreeMap::new();
    for (what, _) in stack.into_iter().filter(|(_, state)| state.is_living()) {
        *numbers.entry(what.clone()).or_default() += 1;
    }
    numbers
}

/// The whole season from a seed.
pub fn season(seed: u64) -> Vec<SitePlan> {
    let mut chance = ChaCha8Rng::seed_from_u64(seed);
    let phones: [&'static [Phone]; 4] =
        [&[Phone::Quarry], &[Phone::Ferry], &[Phone::SignalOne, Phone::SignalTwo], &[Phone::Tannery]];
    let lands = [
        (place(0), PublicPrecision::Thousandth, Privacy::Public),
        (place(1), PublicPrecision::Hundredth, Privacy::Public),
        (place(2), PublicPrecision::Exact, Privacy::Public),
        (place(3), PublicPrecision::Exact, Privacy::Private),
    ];
    SPECS
        .iter()
        .zip(phones)
        .zip(lands)
        .map(|((spec, phones), (place, precision, private))| SitePlan {
            name: spec.name,
            place,
            precision,
            private,
            phones,
            stems: spec.stems,
            visits: (0..WEEKS)
                .filter(|week| !spec.skip.contains(week))
                .map(|week| visit(spec, phones, week, &mut chance))
                .collect(),
        })
        .collect()
}

struct Spec {
    name: &'static str,
    stems: u32,
    plants: u32,
    /// Week at which most eggs are laid.
    peak: f64,
    /// Eggs per stem in that week.
    eggs: f64,
    hosts: &'static [&'static str],
    skip: &'static [u32],
}

const SPECS: [Spec; 4] = [
    Spec {
        name: "Quarry Rim",
        stems: 260,
        plants: 40,
        peak: 3.0,
        eggs: 0.45,
        hosts: &["Asclepias syriaca"],
        skip: &[],
    },
    Spec {
        name: "Ferry Meadow",
        stems: 900,
        plants: 60,
        peak: 4.0,
        eggs: 0.25,
        hosts: &["Asclepias syriaca", "Asclepias incarnata"],
        skip: &[5],
    },
    Spec {
        name: "Signal Verge",
        stems: 500,
        plants: 25,
        peak: 3.5,
        eggs: 0.6,
        hosts: &["Asclepias syriaca"],
        skip: &[],
    },
    Spec {
        name: "Tannery Field",
        stems: 150,
        plants: 30,
        peak: 2.5,
        eggs: 0.04,
        hosts: &["Asclepias syriaca", "Asclepias tuberosa"],
        skip: &[],
    },
];

/// Aggregation of eggs over stems, invented like the rest.
const K: f64 = 0.6;
/// Living animals of each stage for one egg laid, and weeks by which the stage lags behind.
const STAGES: [(Stage, f64, f64); 6] = [
    (Stage::Egg, 1.0, 0.0),
    (Stage::Larva1, 0.16, 0.6),
    (Stage::Larva2, 0.10, 0.9),
    (Stage::Larva3, 0.07, 1.2),
    (Stage::Larva4, 0.05, 1.5),
    (Stage::Larva5, 0.06, 2.0),
];

fn visit(spec: &Spec, phones: &'static [Phone], week: u32, chance: &mut ChaCha8Rng) -> VisitPlan {
    let tenths = Uniform::new_inclusive(190_i16, 310).expect("a range");
    let scale = |top: u8| Uniform::new_inclusive(0_u8, top).expect("a range");
    let weather = Weather {
        air_decicelsius: Some(tenths.sample(chance)),
        beaufort: Beaufort::try_from(scale(4).sample(chance)).ok(),
        cloud: Oktas::try_from(scale(8).sample(chance)).ok(),
        rain: Some(if scale(5).sample(chance) == 0 { Rain::Drizzle } else { Rain::None }),
    };
    let meeting = match (phones.len(), week) {
        (1, _) => Meeting::Alone,
        (_, 4) => Meeting::JoinedLater,
        _ => Meeting::ByCode,
    };
    let plants =
        phones.iter().map(|&phone| (phone, (0..spec.plants).map(|_| plant(spec, week, chance)).collect())).collect();
    VisitPlan { week, weather, meeting, plants }
}

fn plant(spec: &Spec, week: u32, chance: &mut ChaCha8Rng) -> PlantPlan {
    let which = Uniform::new(0, spec.hosts.len()).expect("every site has a host").sample(chance);
    let host = if odds(0.03).sample(chance) { Host::NotDetermined } else { Host::Species(spec.hosts[which].into()) };
    // One draw for the plant makes it a good or a poor one for all stages: that is what clumps animals.
    let favour = Gamma::new(K, 1.0 / K).expect("positive").sample(chance);
    let mut taps = Vec::new();
    for (stage, share, lag) in STAGES {
        let weeks_off = (f64::from(week) - spec.peak - lag) / 1.6;
        let mean = spec.eggs * share * (-0.5 * weeks_off * weeks_off).exp() * favour;
        if mean > 1e-9 {
            let number = Poisson::new(mean).expect("positive").sample(chance);
            let mut left = number;
            while left >= 1.0 {
                tap(stage, chance, &mut taps);
                left -= 1.0;
            }
        }
    }
    PlantPlan { host, taps }
}

fn tap(stage: Stage, chance: &mut ChaCha8Rng, taps: &mut Vec<Tap>) {
    let what = match stage {
        Stage::Egg if odds(0.08).sample(chance) => What::Undecided(Undecided::egg_or_not()),
        Stage::Larva2 if odds(0.15).sample(chance) => "larva2+larva3".parse().expect("two stages"),
        _ => What::Stage(stage),
    };
    let condition = match stage {
        Stage::Egg if odds(0.05).sample(chance) => AnimalState::AboutToHatch,
        Stage::Egg if odds(0.04).sample(chance) => AnimalState::DarkOrHoled,
        Stage::Larva1 | Stage::Larva2 if odds(0.06).sample(chance) => AnimalState::LimpOrBlackened,
        _ => AnimalState::Alive,
    };
    // A slip of the thumb now and then, noticed at once; sometimes it was no slip after all.
    if odds(0.06).sample(chance) {
        taps.push(Tap::Count(Stage::Larva1.into(), AnimalState::Alive));
        taps.push(Tap::TakeBack);
        if odds(0.2).sample(chance) {
            taps.push(Tap::Redo);
            taps.push(Tap::TakeBack);
        }
    }
    taps.push(Tap::Count(what, condition));
}

fn odds(chance: f64) -> Bernoulli {
    Bernoulli::new(chance).expect("between 0 and 1")
}

/// Invented places around a point in the middle of a lake, where nobody can take them for somebody's land.
fn place(n: u32) -> Place {
    let (lat, lon) = (44.0 + 0.04 * f64::from(n), -87.0 - 0.05 * f64::from(n));
    let pin = |north: f64, east: f64| Pin::new(lat + north, lon + east).expect("on the globe");
    match n {
        0 => Place::Pin { at: pin(0.0, 0.0), radius_m: Some(60.0), accuracy_m: Some(6.0) },
        1 | 2 => {
            let outline = vec![pin(0.0, 0.0), pin(0.0, 0.003), pin(0.0015, 0.0032), pin(0.0018, 0.0004)];
            let hole = vec![pin(0.0006, 0.001), pin(0.0006, 0.0014), pin(0.0009, 0.0012)];
            Place::Area(Area::new(outline, vec![hole]).expect("a simple patch"))
        }
        _ => Place::Pin { at: pin(0.0, 0.0), radius_m: Some(25.0), accuracy_m: None },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_season_holds_what_a_season_must() {
        let season = season(2026);
        assert_eq!(season.len(), 4);
        let plants = || season.iter().flat_map(|site| &site.visits).flat_map(|visit| visit.plants.values()).flatten();
        assert!(plants().any(|plant| plant.taps.is_empty()), "empty plants");
        assert!(plants().any(|plant| plant.taps.contains(&Tap::Redo)), "something redone");
        let undecided = |tap: &Tap| matches!(tap, Tap::Count(What::Undecided(_), _));
        assert!(plants().any(|plant| plant.taps.iter().any(undecided)), "undecided counts");
        for meeting in [Meeting::Alone, Meeting::ByCode, Meeting::JoinedLater] {
            assert!(season.iter().flat_map(|site| &site.visits).any(|visit| visit.meeting == meeting), "{meeting:?}");
        }
    }

    #[test]
    fn take_backs_leave_what_stands() {
        let egg = || Tap::Count(Stage::Egg.into(), AnimalState::Alive);
        let shell = Tap::Count(Stage::Egg.into(), AnimalState::HatchedShell);
        let one = BTreeMap::from([(Stage::Egg.into(), 1)]);
        assert_eq!(standing(&[egg(), egg(), Tap::TakeBack, shell]), one);
        assert_eq!(standing(&[egg(), Tap::TakeBack, Tap::Redo]), one);
        assert_eq!(standing(&[egg(), Tap::TakeBack]), BTreeMap::new());
    }
}
