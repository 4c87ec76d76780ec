//! A site and its place.

use super::plant::TypedField;
use super::sites::{Precision, pin};
use super::{Choice, Fix, Label};
use crate::voice::Voice;
use handset::HandsetError;
use handset::acts::{Fix as HandsetFix, FoundPlaces, area_of_edge, pin_of_fixes, typed_count};
use handset::views::SiteView;
use messages::{decimal, integer};
use survey::place::{Place, PublicPrecision};
use survey::site::{OtherDanaus, Privacy, SiteDescription};

/// One site.
#[derive(Debug, Clone, uniffi::Record)]
pub struct SiteScreen {
    /// Its id.
    pub site: String,
    /// Its name.
    pub name: TypedField,
    /// Its place in words.
    pub place: String,
    /// How finely the place may be published, each with its meaning.
    pub precisions: Vec<PrecisionChoice>,
    /// Whose land: `public` or `private`; private land is never published finer than about a kilometre.
    pub land: Vec<Choice>,
    /// Whether related butterflies breed here: `none` or `breed`.
    pub other_danaus: Vec<Choice>,
    /// Stems expected on the whole site.
    pub stems: TypedField,
    /// Visits, the latest first, a line each.
    pub visits: Vec<VisitRow>,
    /// Notes on the site.
    pub notes: Label,
    /// "Season".
    pub season: Label,
}

/// A visit in the list of a site.
#[derive(Debug, Clone, uniffi::Record)]
pub struct VisitRow {
    /// For `take_in_hand`.
    pub visit: String,
    /// Date, plants and animals.
    pub text: String,
}

/// How finely a place may be published.
#[derive(Debug, Clone, uniffi::Record)]
pub struct PrecisionChoice {
    /// For `SiteTyped`.
    pub precision: Precision,
    /// In short.
    pub label: String,
    /// What it means.
    pub meaning: String,
    /// Whether it is chosen.
    pub chosen: bool,
}

/// A site as typed; what is left out says nothing.
#[derive(Debug, Clone, uniffi::Record)]
pub struct SiteTyped {
    /// Name; empty says nothing.
    pub name: String,
    /// Where it is.
    pub place: PlaceGiven,
    /// How finely it may be published.
    pub precision: Option<Precision>,
    /// `public` or `private`.
    pub land: Option<String>,
    /// `none` or `breed`.
    pub other_danaus: Option<String>,
    /// As typed.
    pub stems: String,
}

/// How a place is given.
#[derive(Debug, Clone, uniffi::Enum)]
pub enum PlaceGiven {
    /// Not.
    NotSaid,
    /// Typed coordinates.
    Typed {
        /// Degrees north.
        latitude: String,
        /// Degrees east.
        longitude: String,
    },
    /// Fixes of the phone where one stands, which are averaged.
    Standing {
        /// All of them.
        fixes: Vec<Fix>,
    },
    /// A walk along the edge, a fix at each corner.
    Edge {
        /// The corners.
        corners: Vec<Fix>,
    },
    /// A place that `places_of_file` found.
    Found {
        /// As it stands there.
        place: String,
    },
}

/// A place in words, before it is kept.
#[derive(Debug, Clone, uniffi::Record)]
pub struct PlaceSaid {
    /// In words, with its accuracy or its size.
    pub text: String,
}

/// What a file holds.
#[derive(Debug, Clone, uniffi::Record)]
pub struct PlacesFound {
    /// The places.
    pub places: Vec<PlaceFound>,
    /// How many others could not be read, in words.
    pub refused: Option<String>,
}

/// A place of a file.
#[derive(Debug, Clone, uniffi::Record)]
pub struct PlaceFound {
    /// For `PlaceGiven`.
    pub place: String,
    /// Its name there, or empty.
    pub name: String,
    /// In words.
    pub text: String,
}

const PRECISIONS: [(&str, Precision); 5] = [
    ("exact", Precision::Exact),
    ("thousandth", Precision::Thousandth),
    ("hundredth", Precision::Hundredth),
    ("tenth", Precision::Tenth),
    ("withheld", Precision::Withheld),
];
const LAND: [(&str, Privacy); 2] = [("public", Privacy::Public), ("private", Privacy::Private)];
const DANAUS: [(&str, OtherDanaus); 2] = [("none", OtherDanaus::None), ("breed", OtherDanaus::Breed)];

impl SiteScreen {
    pub(crate) fn of(view: &SiteView, voice: Voice) -> Self {
        let site = &view.site;
        let visit = |row: &handset::views::VisitRow| {
            let animals: u64 = row.living.values().sum();
            let date = row.started.map_or_else(|| voice.plain("visit.not-known"), |at| voice.day(at));
            VisitRow {
                visit: row.visit.to_string(),
                text: voice.say(
                    "phone.visit-row",
                    &[("date", date.into()), ("plants", row.checked.into()), ("animals", animals.into())],
                ),
            }
        };
        Self {
            site: site.id.to_string(),
            name: TypedField { label: voice.plain("phone.site-name"), value: site.name.clone().unwrap_or_default() },
            place: site.place.as_ref().map_or_else(|| voice.plain("phone.no-place"), |place| said(place, voice)),
            precisions: precisions(site.public_precision, voice),
            land: super::plant::choices(&LAND, site.private, |name, _| voice.plain(&format!("phone.land.{name}"))),
            other_danaus: super::plant::choices(&DANAUS, site.other_danaus, |name, _| {
                voice.plain(&format!("phone.danaus.{name}"))
            }),
            stems: TypedField {
                label: voice.plain("phone.stems-expected"),
                value: site.stems_expected.map_or_else(String::new, |stems| stems.to_string()),
            },
            visits: view.visits.iter().map(visit).collect(),
            notes: Label::plain(voice.plain("phone.notes")),
            season: Label::plain(voice.plain("phone.season")),
        }
    }
}

/// Every precision with its meaning.
pub(crate) fn precisions(chosen: PublicPrecision, voice: Voice) -> Vec<PrecisionChoice> {
    let choice = |(name, precision): (&str, Precision)| PrecisionChoice {
        precision,
        label: voice.plain(&format!("phone.precision.{name}")),
        meaning: voice.plain(&format!("phone.precision-means.{name}")),
        chosen: PublicPrecision::from(precision) == chosen,
    };
    PRECISIONS.map(choice).into()
}

impl SiteTyped {
    pub(crate) fn read(&self) -> Result<SiteDescription, HandsetError> {
        let named = super::plant::named;
        Ok(SiteDescription {
            name: Some(self.name.clone()).filter(|name| !name.trim().is_empty()),
            place: self.place.read()?,
            public_precision: self.precision.map(PublicPrecision::from),
            private: self.land.as_deref().map(|name| named(&LAND, name)).transpose()?,
            other_danaus: self.other_danaus.as_deref().map(|name| super::plant::named(&DANAUS, name)).transpose()?,
            stems_expected: typed_count(&self.stems)?,
        })
    }
}

impl PlaceGiven {
    pub(crate) fn read(&self) -> Result<Option<Place>, HandsetError> {
        let fixes = |fixes: &[Fix]| {
            let read = |fix: &Fix| Ok(HandsetFix { at: fix.pin()?, accuracy_m: fix.accuracy_m });
            fixes.iter().map(read).collect::<Result<Vec<_>, HandsetError>>()
        };
        Ok(match self {
            Self::NotSaid => None,
            Self::Typed { latitude, longitude } => {
                Some(Place::Pin { at: pin(latitude, longitude)?, radius_m: None, accuracy_m: None })
            }
            Self::Standing { fixes: all } => Some(pin_of_fixes(&fixes(all)?)?),
            Self::Edge { corners } => Some(area_of_edge(&fixes(corners)?)?),
            Self::Found { place } => Some(handset::acts::place_of_text(place)?),
        })
    }
}

impl PlaceSaid {
    pub(crate) fn of(place: Option<&Place>, voice: Voice) -> Self {
        Self { text: place.map_or_else(|| voice.plain("phone.no-place"), |place| said(place, voice)) }
    }
}

impl PlacesFound {
    pub(crate) fn of(found: &FoundPlaces, voice: Voice) -> Self {
        let place = |one: &handset::acts::FoundPlace| PlaceFound {
            place: handset::acts::text_of_place(&one.place),
            name: one.name.clone().unwrap_or_default(),
            text: said(&one.place, voice),
        };
        let refused = u64::try_from(found.refused).unwrap_or(u64::MAX);
        Self {
            places: found.places.iter().map(place).collect(),
            refused: (refused > 0).then(|| voice.counted("phone.places-refused", refused)),
        }
    }
}

fn said(place: &Place, voice: Voice) -> String {
    let degrees = |number: f64| decimal(voice.language, number, 5);
    match place {
        Place::Pin { at, accuracy_m, .. } => {
            let told = [("lat", degrees(at.lat()).into()), ("lon", degrees(at.lon()).into())];
            let pin = voice.say("phone.pin", &told);
            accuracy_m.map_or(pin.clone(), |metres| {
                let metres = decimal(voice.language, metres, 0);
                voice.say("phone.pin-accuracy", &[("pin", pin.into()), ("metres", metres.into())])
            })
        }
        Place::Area(area) => {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "an area is not negative")]
            let whole = |number: f64| integer(voice.language, number.round() as u64);
            let told = [("area", whole(area.square_metres()).into()), ("edge", whole(area.perimeter_m()).into())];
            voice.say("phone.area", &told)
        }
    }
}
