//! Simulated things on a leaf. Written from the facts of the trade without reading the key file: bodies grow evenly on
//! the log scale from moult to moult, hard parts and filaments keep their size within an instar, and one animal is large
//! or small in all its parts. All sizes in millimetres, common practice without a source or from memory.

use super::chance::Chance;

/// Every outcome, as the key names them.
pub(crate) const OUTCOMES: [&str; 13] = [
    "egg",
    "larva1",
    "larva2",
    "larva3",
    "larva4",
    "larva5",
    "pupa",
    "latex",
    "other-egg",
    "spent-egg",
    "other-danaus",
    "hairy",
    "other-larva",
];

/// A thing on a leaf.
pub(crate) struct Specimen {
    pub(crate) truth: &'static str,
    pub(crate) kind: Thing,
}

pub(crate) enum Thing {
    Larva(Larva),
    Egg(Egg),
    Case,
}

/// A caterpillar or another larva.
pub(crate) struct Larva {
    /// 0 just after a moult, 1 just before the next.
    pub(crate) age: f64,
    pub(crate) length: f64,
    pub(crate) width: f64,
    pub(crate) head: f64,
    pub(crate) front: f64,
    pub(crate) back: f64,
    pub(crate) middle: f64,
    pub(crate) bands: &'static str,
    pub(crate) head_pattern: &'static str,
    pub(crate) collar: &'static str,
    pub(crate) hair: &'static str,
    pub(crate) form: &'static str,
    pub(crate) bites: &'static str,
    pub(crate) place: &'static str,
    pub(crate) legs: &'static str,
    pub(crate) spots: &'static str,
    pub(crate) wound: bool,
    pub(crate) aphids: bool,
}

/// An egg, a droplet, or what else is taken for an egg.
pub(crate) struct Egg {
    pub(crate) length: f64,
    pub(crate) looks: &'static str,
    pub(crate) ridges: f64,
    pub(crate) form: &'static str,
    pub(crate) colour: &'static str,
    pub(crate) whole: &'static str,
    pub(crate) posture: &'static str,
    pub(crate) company: &'static str,
    pub(crate) wound: bool,
    pub(crate) aphids: bool,
    pub(crate) touch: &'static str,
    pub(crate) place: &'static str,
}

/// Length just after and just before the moults that bound an instar.
const LENGTHS: [(f64, f64); 5] = [(2.2, 5.6), (5.2, 9.5), (9.0, 14.8), (14.0, 25.0), (24.0, 46.0)];
const FRONT: [f64; 5] = [0.12, 0.6, 2.4, 5.0, 10.3];
const BACK: [f64; 5] = [0.05, 0.2, 0.95, 2.4, 5.0];

impl Specimen {
    pub(crate) fn of(truth: &'static str, chance: &mut Chance) -> Self {
        let kind = match truth {
            "larva1" => Thing::Larva(monarch(0, chance)),
            "larva2" => Thing::Larva(monarch(1, chance)),
            "larva3" => Thing::Larva(monarch(2, chance)),
            "larva4" => Thing::Larva(monarch(3, chance)),
            "larva5" => Thing::Larva(monarch(4, chance)),
            "other-danaus" => Thing::Larva(queen(chance)),
            "hairy" => Thing::Larva(hairy(chance)),
            "other-larva" => Thing::Larva(stranger(chance)),
            "pupa" => Thing::Case,
            "egg" => Thing::Egg(egg(chance)),
            "latex" => Thing::Egg(latex(chance)),
            "spent-egg" => Thing::Egg(spent(chance)),
            _ => Thing::Egg(other_egg(chance)),
        };
        Self { truth, kind }
    }

    /// A monarch amid its stage, or a plain fresh drop: all its marks are there to be seen.
    pub(crate) fn is_clear(&self) -> bool {
        match (&self.kind, self.truth) {
            (Thing::Larva(larva), truth) => truth.starts_with("larva") && (0.3..0.7).contains(&larva.age),
            (Thing::Egg(egg), "egg") => egg.colour == "cream",
            (Thing::Egg(egg), "latex") => egg.colour == "milk-white",
            (Thing::Egg(_), _) => false,
            (Thing::Case, _) => true,
        }
    }
}

fn monarch(instar: usize, chance: &mut Chance) -> Larva {
    let age = chance.even();
    let build = chance.normal(0.06);
    let (low, high) = LENGTHS[instar];
    let length = low * (high / low).powf(age) * build.exp();
    let head = 0.62 * 1.46_f64.powf(instar as f64) * (0.7 * build).exp() * chance.about(0.04);
    let front = FRONT[instar] * build.exp() * chance.about(0.13);
    let back = BACK[instar] * build.exp() * chance.about(0.13);
    let fed = age > chance.even() * 0.5;
    let bands = match instar {
        0 if !fed => "none",
        0 => chance.one(&[("faint", 0.85), ("thin", 0.15)]),
        1 => chance.one(&[("faint", 0.2), ("thin", 0.8)]),
        2 => chance.one(&[("thin", 0.82), ("wide", 0.18)]),
        3 => chance.one(&[("thin", 0.65 - 0.3 * age), ("wide", 0.35 + 0.3 * age)]),
        _ => chance.one(&[("thin", 0.12), ("wide", 0.88)]),
    };
    let head_pattern = if age < 0.06 {
        "pale"
    } else {
        let patterns = [[0.95, 0.05, 0.0], [0.45, 0.5, 0.05], [0.08, 0.5, 0.42], [0.02, 0.28, 0.7], [0.0, 0.12, 0.88]];
        let [dark, marked, striped] = patterns[instar];
        chance.one(&[("black", dark), ("black-marked", marked), ("striped", striped)])
    };
    let bites = [[0.85, 0.13, 0.02], [0.5, 0.48, 0.02], [0.12, 0.83, 0.05], [0.05, 0.73, 0.22], [0.03, 0.52, 0.45]];
    let [holes, edge, stalk] = bites[instar];
    let late = instar as f64 / 4.0;
    let collar = chance.one(&[("plain", 0.75 - 0.7 * late), ("patches", 0.3), ("bars", 0.05 + 0.7 * late)]);
    let legs = chance.one(&[("tiny", 0.7 - 0.65 * late), ("short", 0.35), ("long", 0.05 + 0.6 * late)]);
    let spots = chance.one(&[("none", 0.9 - 0.85 * late), ("faint", 0.25), ("clear", 0.02 + 0.7 * late)]);
    let place = if instar == 4 && age > 0.9 && chance.happens(0.5) {
        "off-plant"
    } else {
        chance.one(&[
            ("under-leaf", 0.6 - 0.25 * late),
            ("on-leaf", 0.25),
            ("bud-or-flower", 0.12),
            ("stem", 0.05 + 0.1 * late),
        ])
    };
    Larva {
        age,
        length,
        width: 0.16 * length * chance.about(0.05),
        head,
        front,
        back,
        middle: 0.0,
        bands,
        head_pattern,
        collar,
        hair: if instar < 2 && chance.happens(0.7) { "bristles" } else { "bare" },
        form: "caterpillar",
        bites: if chance.happens(0.15) {
            "none-near"
        } else {
            chance.one(&[("holes", holes), ("edge", edge), ("notched-stalk", stalk)])
        },
        place,
        legs,
        spots,
        wound: chance.happens(0.5),
        aphids: chance.happens(0.08),
    }
}

/// A queen caterpillar: a third pair of filaments, otherwise much alike; younger ones cannot be told.
fn queen(chance: &mut Chance) -> Larva {
    let instar = match chance.even() {
        third if third < 0.3 => 2,
        fourth if fourth < 0.6 => 3,
        _ => 4,
    };
    let alike = monarch(instar, chance);
    Larva { middle: 0.75 * alike.back, ..alike }
}

fn hairy(chance: &mut Chance) -> Larva {
    let length = 2.0 * (33.0_f64 / 2.0).powf(chance.even());
    let shaggy = if length > 5.0 || chance.happens(0.75) { "long" } else { "bristles" };
    Larva {
        length,
        head: 0.09 * length * chance.about(0.1) + 0.2,
        front: if chance.happens(0.3) { 0.12 * length } else { 0.0 },
        back: if chance.happens(0.2) { 0.1 * length } else { 0.0 },
        bands: chance.one(&[("none", 0.5), ("other-pattern", 0.45), ("thin", 0.05)]),
        head_pattern: chance.one(&[("black", 0.7), ("pale", 0.3)]),
        hair: shaggy,
        bites: chance.one(&[("holes", 0.3), ("edge", 0.5), ("none-near", 0.2)]),
        ..monarch(2, chance)
    }
}

/// A maggot, a lacewing larva, a looper or another caterpillar that rests on milkweed.
fn stranger(chance: &mut Chance) -> Larva {
    let form = chance.one(&[("legless", 0.3), ("six-legs", 0.15), ("looping", 0.2), ("caterpillar", 0.35)]);
    let hunter = form == "legless" || form == "six-legs";
    let length = if hunter { 3.0 + 9.0 * chance.even() } else { 4.0 + 30.0 * chance.even() };
    Larva {
        length,
        head: if form == "legless" { 0.3 } else { 0.08 * length + 0.3 },
        front: 0.0,
        back: 0.0,
        bands: if hunter { "none" } else { chance.one(&[("other-pattern", 0.7), ("none", 0.3)]) },
        head_pattern: chance.one(&[("pale", 0.6), ("black", 0.3), ("striped", 0.1)]),
        hair: if chance.happens(0.8) { "bare" } else { "bristles" },
        form,
        bites: if hunter { "none-near" } else { chance.one(&[("none-near", 0.4), ("edge", 0.4), ("holes", 0.2)]) },
        aphids: chance.happens(if hunter { 0.6 } else { 0.1 }),
        ..monarch(2, chance)
    }
}

fn egg(chance: &mut Chance) -> Egg {
    let late = chance.happens(0.12);
    Egg {
        length: 1.2 * chance.about(0.05),
        looks: "egg",
        ridges: 1.0,
        form: "upright-oval",
        colour: if late { "dark-top" } else { chance.one(&[("cream", 0.9), ("milk-white", 0.07), ("yellow", 0.03)]) },
        whole: "whole",
        posture: if chance.happens(0.92) { "upright" } else { "lying" },
        company: if chance.happens(0.86) { "alone" } else { "few" },
        wound: chance.happens(0.08),
        aphids: chance.happens(0.08),
        touch: "stays",
        place: chance.one(&[("under-leaf", 0.75), ("on-leaf", 0.1), ("bud-or-flower", 0.1), ("stem", 0.05)]),
    }
}

fn latex(chance: &mut Chance) -> Egg {
    let round = chance.happens(0.4);
    Egg {
        length: 0.5 + 2.0 * chance.even(),
        looks: if round && chance.happens(0.7) { "egg" } else { "drop" },
        ridges: 0.0,
        form: if round { chance.one(&[("round", 0.8), ("upright-oval", 0.2)]) } else { "uneven" },
        colour: chance.one(&[("milk-white", 0.7), ("cream", 0.15), ("yellow", 0.15)]),
        whole: if chance.happens(0.1) { "caved-in" } else { "whole" },
        posture: if chance.happens(0.2) { "upright" } else { "flat" },
        company: chance.one(&[("alone", 0.5), ("few", 0.4), ("packed", 0.1)]),
        wound: chance.happens(0.65),
        aphids: chance.happens(0.1),
        touch: "smears",
        place: chance.one(&[("under-leaf", 0.3), ("on-leaf", 0.35), ("stem", 0.35)]),
    }
}

fn spent(chance: &mut Chance) -> Egg {
    let fate = chance.one(&[("shell", 0.35), ("dark", 0.35), ("sucked", 0.3)]);
    Egg {
        ridges: 0.8,
        colour: match fate {
            "shell" => "clear",
            "dark" => "dark",
            _ => chance.one(&[("cream", 0.3), ("clear", 0.4), ("dark", 0.3)]),
        },
        whole: match fate {
            "shell" => "hole",
            "dark" => chance.one(&[("whole", 0.5), ("hole", 0.5)]),
            _ => "caved-in",
        },
        form: if fate == "sucked" {
            chance.one(&[("uneven", 0.3), ("round", 0.2), ("upright-oval", 0.5)])
        } else {
            "upright-oval"
        },
        ..egg(chance)
    }
}

fn other_egg(chance: &mut Chance) -> Egg {
    let whose = chance.one(&[("lacewing", 0.3), ("hoverfly", 0.2), ("tussock", 0.25), ("beetle", 0.15), ("bug", 0.1)]);
    let (form, posture, company, colour, ridges) = match whose {
        "lacewing" => ("long", "stalk", if chance.happens(0.4) { "few" } else { "alone" }, "cream", 0.0),
        "hoverfly" => ("long", "lying", if chance.happens(0.7) { "alone" } else { "few" }, "milk-white", 0.6),
        "tussock" => ("round", "flat", "packed", "yellow", 0.0),
        "beetle" => ("long", "upright", "packed", "yellow", 0.1),
        _ => ("round", "upright", "packed", "dark", 0.2),
    };
    Egg {
        length: 0.6 + 0.8 * chance.even(),
        ridges,
        form,
        colour: if chance.happens(0.8) { colour } else { chance.one(&[("cream", 0.6), ("dark", 0.4)]) },
        posture,
        company,
        aphids: chance.happens(if whose == "hoverfly" { 0.85 } else { 0.2 }),
        ..egg(chance)
    }
}
