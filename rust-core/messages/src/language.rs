//! The languages, and how one is chosen.

use serde::{Deserialize, Serialize};

/// A language of the catalogue.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Language {
    /// English.
    #[default]
    En,
    /// Spanish as used in Mexico.
    Es,
    /// French as used in Canada.
    Fr,
}

impl Language {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::En, Self::Es, Self::Fr];

    /// The short name: `en`, `es`, `fr`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::Es => "es",
            Self::Fr => "fr",
        }
    }

    /// The tag for `lang` attributes (BCP 47).
    pub const fn tag(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::Es => "es-MX",
            Self::Fr => "fr-CA",
        }
    }

    /// What its speakers call it.
    pub const fn own_name(self) -> &'static str {
        match self {
            Self::En => "English",
            Self::Es => "Español",
            Self::Fr => "Français",
        }
    }

    /// What stands between whole and fraction.
    pub const fn decimal_mark(self) -> char {
        match self {
            Self::En | Self::Es => '.',
            Self::Fr => ',',
        }
    }

    /// The language of a tag such as `fr`, `fr-CA` or `ES_mx`; other regions share their language's words.
    pub fn of_tag(tag: &str) -> Option<Self> {
        let primary = tag.split(['-', '_']).next()?.trim();
        Self::ALL.into_iter().find(|language| language.name().eq_ignore_ascii_case(primary))
    }

    /// The one that an `Accept-Language` field likes best (RFC 9110 section 12.5.4): highest weight, the first of equals.
    /// A weight of 0 forbids; tags of other languages are passed over.
    pub fn preferred(accept_language: &str) -> Option<Self> {
        let mut best: Option<(f64, Self)> = None;
        for range in accept_language.split(',') {
            let mut parts = range.split(';');
            let Some(language) = parts.next().and_then(|tag| Self::of_tag(tag.trim())) else { continue };
            let weight = parts
                .find_map(|part| part.trim().strip_prefix("q="))
                .map_or(1.0, |weight| weight.trim().parse::<f64>().unwrap_or(0.0));
            if weight > 0.0 && best.is_none_or(|(found, _)| weight > found) {
                best = Some((weight, language));
            }
        }
        best.map(|(_, language)| language)
    }

    /// The plural form of a whole number by the rules of Unicode CLDR for cardinals. French has 0 and 1 as one; the
    /// form `many` of Spanish and French (whole millions) takes the words of `other` in this catalogue.
    pub(crate) const fn is_one(self, number: u64) -> bool {
        match self {
            Self::En | Self::Es => number == 1,
            Self::Fr => number <= 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first field is the example of RFC 9110 section 12.5.4, its Danish left without words here.
    #[test]
    fn the_browsers_wish_is_read() {
        for (field, language) in [
            ("da, en-gb;q=0.8, en;q=0.7", Some(Language::En)),
            ("fr-CA,fr;q=0.9,en;q=0.8", Some(Language::Fr)),
            ("en;q=0.5, es-MX", Some(Language::Es)),
            ("en;q=0, fr;q=0.1", Some(Language::Fr)),
            ("es, fr", Some(Language::Es)),
            ("de, *;q=0.5", None),
            ("", None),
            ("fr;q=much", None),
        ] {
            assert_eq!(Language::preferred(field), language, "{field}");
        }
    }
}
