//! Invented specimens: what they are, and how they are drawn.

use crate::chance::Chance;
use figure::specimen::{Company, Growth, Instar, Kind, Larva, Speck, SpeckColour, SpeckForm, Subject};
use serde::{Deserialize, Serialize};

/// A specimen whose truth is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Specimen {
    /// What it is.
    pub kind: Kind,
    /// How it looks.
    pub subject: Subject,
}

/// How far a larva is between its moults.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Age {
    /// Just moulted: pale head, loose skin.
    Fresh,
    /// Between.
    Middle,
    /// About to moult: swollen.
    BeforeMoult,
}

/// One animal is this much smaller or larger in all its parts than another, at most (from memory: animals of one
/// instar differ by some percent).
const BUILD: (f64, f64) = (0.96, 1.04);

impl Specimen {
    /// A specimen of this kind at this age; where it has no instar the age says nothing.
    pub(crate) fn draw(kind: Kind, age: Age, chance: &mut Chance) -> Self {
        let subject = match kind {
            Kind::Larva1 => larva(Larva::monarch, Instar::First, age, chance),
            Kind::Larva2 => larva(Larva::monarch, Instar::Second, age, chance),
            Kind::Larva3 => larva(Larva::monarch, Instar::Third, age, chance),
            Kind::Larva4 => larva(Larva::monarch, Instar::Fourth, age, chance),
            Kind::Larva5 => larva(Larva::monarch, Instar::Fifth, age, chance),
            Kind::OtherDanaus => {
                let shown = [Instar::Third, Instar::Fourth, Instar::Fifth];
                larva(Larva::other_danaus, chance.pick(&shown).unwrap_or(Instar::Fifth), age, chance)
            }
            Kind::Hairy => hairy(chance),
            Kind::Latex => Subject::Speck(latex(chance)),
            Kind::Egg | Kind::Pupa | Kind::OtherEgg | Kind::SpentEgg | Kind::OtherLarva => {
                let examples = Subject::examples(kind);
                chance.pick(&examples).unwrap_or(examples[0])
            }
        };
        Self { kind, subject }
    }
}

fn larva(make: impl Fn(Instar, Growth) -> Larva, instar: Instar, age: Age, chance: &mut Chance) -> Subject {
    let growth = match age {
        Age::Fresh => chance.between(0.0, 0.1),
        Age::Middle => chance.between(0.3, 0.7),
        Age::BeforeMoult => chance.between(0.9, 1.0),
    };
    let plain = make(instar, Growth::from(growth));
    let build = chance.between(BUILD.0, BUILD.1);
    Subject::Larva(Larva {
        length: build * plain.length,
        head_width: build * plain.head_width,
        front: build * plain.front,
        middle: build * plain.middle,
        back: build * plain.back,
        ..plain
    })
}

/// Hairy caterpillars are met at any size up to 33 mm.
fn hairy(chance: &mut Chance) -> Subject {
    let example = Subject::typical(Kind::Hairy);
    let Subject::Larva(plain) = example else { return example };
    let times = chance.between(0.3, 1.65);
    Subject::Larva(Larva { length: times * plain.length, head_width: times * plain.head_width, ..plain })
}

/// Fresh drops are white and spread; some are round like an egg, older ones yellowish (common practice, no source).
fn latex(chance: &mut Chance) -> Speck {
    let forms = [SpeckForm::Uneven, SpeckForm::Uneven, SpeckForm::Round];
    let colours = [SpeckColour::MilkWhite, SpeckColour::MilkWhite, SpeckColour::Yellow];
    let company = [Company::Alone, Company::Few];
    Speck {
        form: chance.pick(&forms).unwrap_or(SpeckForm::Uneven),
        colour: chance.pick(&colours).unwrap_or(SpeckColour::MilkWhite),
        company: chance.pick(&company).unwrap_or(Company::Alone),
        ..Speck::LATEX
    }
}
