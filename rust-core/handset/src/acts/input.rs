//! What a person typed, checked.

use crate::error::{Error, Why};
use survey::check::CheckDescription;
use survey::place::Place;
use survey::protocol::{Host, PlantChoice, Protocol};
use survey::site::SiteDescription;
use survey::visit::{AdultEffort, AdultsCounted, PooledCheck, Weather};

/// The most characters of a name or a label.
pub(crate) const MOST_OF_NAME: usize = 120;
/// The most characters of a note.
pub(crate) const MOST_OF_NOTE: usize = 4000;
/// The most animals of one act of counting.
pub(crate) const MOST_AT_ONCE: u32 = 9999;
/// The most of any total in older records.
const MOST_POOLED: u32 = 999_999;

/// A name: trimmed, one line, no control characters. Rust's texts hold no lone surrogates.
pub(crate) fn name(text: &str) -> Result<String, Error> {
    let text = text.trim();
    let length = text.chars().count();
    if length == 0 || length > MOST_OF_NAME || text.chars().any(char::is_control) {
        return Err(Error::refused(Why::TextNotUsable, format!("{length} characters, 1 to {MOST_OF_NAME}, one line")));
    }
    Ok(text.to_owned())
}

/// A note: trimmed; lines and tabs are its only control characters.
pub(crate) fn note(text: &str) -> Result<String, Error> {
    let text = text.trim();
    let length = text.chars().count();
    let odd = |c: char| c.is_control() && c != '\n' && c != '\t';
    if length == 0 || length > MOST_OF_NOTE || text.chars().any(odd) {
        return Err(Error::refused(Why::TextNotUsable, format!("{length} characters, 1 to {MOST_OF_NOTE}")));
    }
    Ok(text.to_owned())
}

/// A number within a range, both ends included.
pub(crate) fn within<T: PartialOrd + Copy + std::fmt::Display>(
    what: &str,
    number: T,
    least: T,
    most: T,
) -> Result<T, Error> {
    if (least..=most).contains(&number) {
        return Ok(number);
    }
    Err(Error::refused(Why::NumberOutOfRange, format!("{what} {number}, {least} to {most}")))
}

/// How many animals one act counts.
pub(crate) fn count(number: u32) -> Result<u32, Error> {
    within("count", number, 1, MOST_AT_ONCE)
}

pub(crate) fn host(host: Host) -> Result<Host, Error> {
    match host {
        Host::Species(species) => Ok(Host::from(name(&species)?)),
        Host::NotDetermined | Host::NotMilkweed => Ok(host),
    }
}

pub(crate) fn site(description: SiteDescription) -> Result<SiteDescription, Error> {
    if description == SiteDescription::default() {
        return Err(Error::refused(Why::SaysNothing, "site"));
    }
    if let Some(at) = &description.place {
        place(at)?;
    }
    if let Some(stems) = description.stems_expected {
        within("stems", stems, 1, 10_000_000)?;
    }
    let name = description.name.as_deref().map(name).transpose()?;
    Ok(SiteDescription { name, ..description })
}

pub(crate) fn place(place: &Place) -> Result<(), Error> {
    if let Place::Pin { radius_m, accuracy_m, .. } = place {
        for metres in [radius_m, accuracy_m].into_iter().flatten() {
            within("metres", *metres, 0.1, 100_000.0)?;
        }
    }
    Ok(())
}

pub(crate) fn protocol(protocol: Protocol) -> Result<Protocol, Error> {
    match protocol.choice {
        PlantChoice::EveryKth { k, start } => {
            within("k", k, 1, 100_000)?;
            within("start", start, 0, k - 1)?;
        }
        PlantChoice::Clusters { radius_m, .. } => {
            within("metres", radius_m, 0.1, 1000.0)?;
        }
        PlantChoice::Tagged | PlantChoice::All | PlantChoice::ObserversChoice => {}
    }
    within("at most", protocol.stop.at_most, protocol.stop.at_least, 100_000)?;
    if protocol.stages.is_empty() {
        return Err(Error::refused(Why::SaysNothing, "a protocol names the stages that are looked for"));
    }
    let name = name(&protocol.name)?;
    Ok(Protocol { name, ..protocol })
}

pub(crate) fn check(description: CheckDescription) -> Result<CheckDescription, Error> {
    if description == CheckDescription::default() {
        return Err(Error::refused(Why::SaysNothing, "plant"));
    }
    if let Some(stems) = description.stems {
        within("stems", stems, 1, 9999)?;
    }
    if let Some(height) = description.height_cm {
        within("centimetres", height, 1, 999)?;
    }
    let host = description.host.map(host).transpose()?;
    Ok(CheckDescription { host, ..description })
}

pub(crate) fn weather(weather: Weather) -> Result<Weather, Error> {
    if weather == Weather::default() {
        return Err(Error::refused(Why::SaysNothing, "weather"));
    }
    if let Some(air) = weather.air_decicelsius {
        within("tenths of a degree", air, -600, 600)?;
    }
    Ok(weather)
}

pub(crate) fn pooled(check: PooledCheck) -> Result<PooledCheck, Error> {
    if let Some(checked) = check.checked {
        within("checked", checked, 1, MOST_POOLED)?;
    }
    for number in check.totals.values() {
        within("total", *number, 0, MOST_POOLED)?;
    }
    Ok(check)
}

pub(crate) fn adults(counted: AdultsCounted) -> Result<AdultsCounted, Error> {
    if let AdultEffort::TimedWalk { minutes, metres, width_m } = counted.effort {
        within("minutes", minutes, 1, 24 * 60)?;
        within("metres", metres, 1.0, 100_000.0)?;
        within("metres", width_m, 0.1, 1000.0)?;
    }
    for number in counted.seen.values() {
        within("adults", *number, 0, MOST_AT_ONCE)?;
    }
    Ok(counted)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Kind;

    #[test]
    fn texts_that_are_no_names_are_refused() {
        for text in ["", "   ", "a\0b", "two\nlines", "\u{7}", "\u{85}", &"x".repeat(121)] {
            assert_eq!(name(text).unwrap_err().kind(), Kind::NotAllowed(Why::TextNotUsable), "{text:?}");
        }
        assert_eq!(name("  Wiese am Bach \u{fffd}\u{1f98b} ").unwrap(), "Wiese am Bach \u{fffd}\u{1f98b}");
        assert_eq!(note("one\n\ttwo").unwrap(), "one\n\ttwo");
        assert!(note("bell \u{7}").is_err());
    }

    #[test]
    fn numbers_have_ends_and_not_a_number_is_none() {
        assert!(count(0).is_err());
        assert_eq!(count(9999).unwrap(), 9999);
        assert!(count(10_000).is_err());
        assert!(within("metres", f64::NAN, 0.0, 1.0).is_err());
        assert!(within("metres", f64::INFINITY, 0.0, 1.0).is_err());
    }
}
