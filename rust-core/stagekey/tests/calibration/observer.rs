//! Simulated observers: they see sizes with an error, states near a border either way, slip now and then, and leave out
//! what they cannot see.

use super::chance::Chance;
use super::specimen::{Egg, Larva, Specimen, Thing};

/// How carefully one looks.
pub(crate) struct Care {
    pub(crate) name: &'static str,
    /// Standard deviation of the logarithm of a judged proportion.
    pub(crate) blur: f64,
    /// Share of answers that are another state at random.
    pub(crate) slips: f64,
    /// Share of questions that are left out.
    pub(crate) skips: f64,
    /// Share of answers near a border that name both states.
    pub(crate) doubts: f64,
}

pub(crate) const CARES: [Care; 3] = [
    Care { name: "careful", blur: 0.08, slips: 0.01, skips: 0.02, doubts: 0.5 },
    Care { name: "ordinary", blur: 0.16, slips: 0.03, skips: 0.06, doubts: 0.2 },
    Care { name: "hurried", blur: 0.26, slips: 0.08, skips: 0.12, doubts: 0.0 },
];

/// Filaments laid forward reach the front of the head when they are this many head widths long.
const REACH: f64 = 1.9;

impl Care {
    /// What this observer says when asked for a character by these means; nothing when it is left out.
    pub(crate) fn says(
        &self,
        specimen: &Specimen,
        character: &str,
        by: &str,
        states: &[String],
        chance: &mut Chance,
    ) -> Option<String> {
        if chance.happens(self.skips) {
            return None;
        }
        let said = match &specimen.kind {
            Thing::Larva(larva) => self.of_larva(larva, character, by, chance),
            Thing::Egg(egg) => self.of_egg(egg, character, by, chance),
            Thing::Case => of_case(character, chance),
        }?;
        if !states.is_empty() && chance.happens(self.slips) {
            let share = chance.even();
            let place = (1..states.len()).take_while(|place| *place as f64 / states.len() as f64 <= share).count();
            return Some(format!("{by}:{}", states[place]));
        }
        Some(format!("{by}:{said}"))
    }

    fn of_larva(&self, larva: &Larva, character: &str, by: &str, chance: &mut Chance) -> Option<String> {
        let sight = if by == "eye" { 0.32 } else { 0.1 };
        let seen = |length: f64, chance: &mut Chance| length * chance.about(self.blur + 0.1) > sight;
        Some(match character {
            "shape" => match (larva.form, larva.hair) {
                ("caterpillar", "long") => "hairy-caterpillar",
                ("caterpillar", _) if larva.length < 3.0 && chance.happens(0.03) => "egg",
                ("caterpillar", _) => "smooth-caterpillar",
                _ => "other-crawler",
            }
            .to_owned(),
            "filament-reach" | "filament-head" if !seen(larva.front, chance) => "none".to_owned(),
            "filament-ratio" | "front-filament" if larva.front < 0.05 => return None,
            "filament-reach" => {
                let borders = [(0.8, "short"), (1.22, "reaches"), (1.58, "beyond")];
                self.between(larva.front / larva.head / REACH, &borders, "far-beyond", chance)
            }
            "filament-head" => {
                let borders = [(1.0, "shorter"), (2.0, "one-to-two"), (3.0, "two-to-three")];
                self.between(larva.front / larva.head, &borders, "over-three", chance)
            }
            "filament-posture" if !seen(larva.front, chance) || larva.front < 0.5 => "none".to_owned(),
            "filament-posture" => if larva.front * chance.about(0.3) > 7.0 { "drooping" } else { "stiff" }.to_owned(),
            "filament-ratio" => number(larva.front / larva.head * chance.about(self.blur)),
            "front-filament" => number((larva.front * chance.about(self.blur)).min(20.0)),
            "back-head" if !seen(larva.back, chance) => "none".to_owned(),
            "back-head" => {
                let borders = [(1.0, "shorter"), (1.5, "longer")];
                self.between(larva.back / larva.head, &borders, "far-longer", chance)
            }
            "pairs" => match (seen(larva.front, chance), seen(larva.back, chance), seen(larva.middle, chance)) {
                (_, true, true) => "three",
                (_, true, false) if larva.back * chance.about(self.blur) < 0.6 => "back-stubs",
                (_, true, false) => "two",
                (true, false, _) => "front-only",
                (false, false, _) => "none",
            }
            .to_owned(),
            "head-body" => {
                let borders = [(0.85, "wider"), (1.15, "equal"), (1.9, "narrower")];
                self.between(larva.width / larva.head, &borders, "much-narrower", chance)
            }
            "bands" => self.next_to(larva.bands, &["none", "faint", "thin", "wide"], chance),
            "head-pattern" => self.next_to(larva.head_pattern, &["black", "black-marked", "striped"], chance),
            "collar" => self.next_to(larva.collar, &["plain", "patches", "bars"], chance),
            "bites" => self.next_to(larva.bites, &["holes", "edge", "notched-stalk"], chance),
            "legs" => self.next_to(larva.legs, &["tiny", "short", "long"], chance),
            "proleg-spots" => self.next_to(larva.spots, &["none", "faint", "clear"], chance),
            "place" => larva.place.to_owned(),
            "case-form" => "no-case".to_owned(),
            "leaf-wound" => if larva.wound { "beside" } else { "none" }.to_owned(),
            "aphids" => if larva.aphids { "beside" } else { "none" }.to_owned(),
            "body-length" => {
                number((larva.length * chance.about(if by == "eye" { 0.12 + self.blur } else { self.blur })).min(80.0))
            }
            "head-width" => number((larva.head * chance.about(self.blur)).min(8.0)),
            // A question about eggs makes no sense here, and is left out.
            _ => return None,
        })
    }

    fn of_egg(&self, egg: &Egg, character: &str, by: &str, chance: &mut Chance) -> Option<String> {
        let sharp = if by == "eye" { 0.2 } else { 1.0 - self.blur };
        Some(match character {
            "shape" => if chance.happens(0.05 + self.blur / 2.0) {
                if egg.looks == "egg" { "drop" } else { "egg" }
            } else {
                egg.looks
            }
            .to_owned(),
            "egg-ridges" => if chance.happens(egg.ridges * sharp + 0.01) { "ridged" } else { "smooth" }.to_owned(),
            "egg-form" => {
                let unsure = if by == "eye" { 0.12 } else { 0.03 } + self.blur / 2.0;
                if chance.happens(unsure) { "round" } else { egg.form }.to_owned()
            }
            "egg-colour" => match egg.colour {
                "dark" | "clear" => "other".to_owned(),
                "dark-top" => "cream".to_owned(),
                pale => self.next_to(pale, &["cream", "milk-white", "yellow"], chance),
            },
            "egg-state" if by == "eye" && chance.happens(self.blur / 1.5) => "whole-pale".to_owned(),
            "egg-state" => match (egg.whole, egg.colour) {
                ("hole", _) | ("whole", "clear") => "open",
                ("caved-in", _) => "caved-in",
                (_, "dark") => "dark",
                (_, "dark-top") => "dark-top",
                _ => "whole-pale",
            }
            .to_owned(),
            "egg-posture" => if chance.happens(self.blur / 2.0) { "flat" } else { egg.posture }.to_owned(),
            "egg-company" => egg.company.to_owned(),
            "egg-touch" => egg.touch.to_owned(),
            "leaf-wound" => if egg.wound { "beside" } else { "none" }.to_owned(),
            "aphids" => if egg.aphids { "beside" } else { "none" }.to_owned(),
            "place" => egg.place.to_owned(),
            "case-form" => "no-case".to_owned(),
            "pairs" | "filament-reach" | "filament-head" | "filament-posture" | "back-head" => "none".to_owned(),
            "body-length" => number(egg.length * chance.about(if by == "eye" { 0.15 + self.blur } else { self.blur })),
            _ => return None,
        })
    }

    /// The class into which a blurred value falls; near a border maybe both.
    fn between(&self, value: f64, borders: &[(f64, &str)], above: &str, chance: &mut Chance) -> String {
        let seen = value * chance.about(self.blur);
        let class = |at: f64| borders.iter().find(|border| at < border.0).map_or(above, |border| border.1);
        let (low, high) = (class(seen * 0.93), class(seen * 1.07));
        if low != high && chance.happens(self.doubts) { format!("{low}|{high}") } else { class(seen).to_owned() }
    }

    /// The state, or now and then the one beside it on a scale.
    fn next_to(&self, state: &str, scale: &[&str], chance: &mut Chance) -> String {
        let Some(place) = scale.iter().position(|one| *one == state) else { return state.to_owned() };
        if !chance.happens(self.blur / 1.5) {
            return state.to_owned();
        }
        let beside = if chance.happens(0.5) { place.saturating_sub(1) } else { (place + 1).min(scale.len() - 1) };
        scale[beside].to_owned()
    }
}

fn of_case(character: &str, chance: &mut Chance) -> Option<String> {
    Some(match character {
        "shape" => "case".to_owned(),
        "case-form" => if chance.happens(0.93) { "smooth-green" } else { "other-case" }.to_owned(),
        "place" => if chance.happens(0.85) { "off-plant" } else { "stem" }.to_owned(),
        "pairs" | "filament-reach" | "filament-head" | "filament-posture" | "back-head" => "none".to_owned(),
        "body-length" => number(28.0 * chance.about(0.1)),
        _ => return None,
    })
}

fn number(value: f64) -> String {
    // Readings are taken to a tenth, or to a hundredth where they are small.
    if value < 2.0 { format!("{:.2}", value.max(0.3)) } else { format!("{value:.1}") }
}
