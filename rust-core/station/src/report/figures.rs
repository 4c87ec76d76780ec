//! The figures of a season in the reader's language.

use super::analysis::{SeasonReport, SiteReport};
use figure::{Figure, Words, season_curve, stage_composition, svg};
use messages::{Language, say};

/// Widths in which figures are drawn: for screens, and for narrow ones.
pub const WIDE: u32 = 720;
/// See [`WIDE`].
pub const NARROW: u32 = 320;

/// A figure as SVG in two widths, of which a style sheet shows one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// [`WIDE`].
    pub wide: String,
    /// [`NARROW`].
    pub narrow: String,
}

/// The season chart; `None` where there is nothing to draw.
pub fn curve(site: &SiteReport, season: &SeasonReport, language: Language) -> Option<Drawn> {
    let (place, words) = (place(site, season, language), figure_words(language));
    drawn(|width| season_curve(&season.curve, &place, width, &words).ok())
}

/// The chart of stages at each visit; `None` where there is nothing to draw.
pub fn composition(site: &SiteReport, season: &SeasonReport, language: Language) -> Option<Drawn> {
    let (place, words) = (place(site, season, language), figure_words(language));
    drawn(|width| stage_composition(&season.composition, &place, width, &words).ok())
}

/// Both charts of each season, wide, as files of their own.
pub fn files(site: &SiteReport, language: Language) -> Vec<(String, String)> {
    let of_season = |season: &SeasonReport| {
        let name = |chart: &str| format!("site-{}-{}-{}-{chart}.svg", site.site, season.year, season.unit.name());
        let curve = curve(site, season, language).map(|drawn| (name("season"), drawn.wide));
        let stages = composition(site, season, language).map(|drawn| (name("stages"), drawn.wide));
        curve.into_iter().chain(stages).collect::<Vec<_>>()
    };
    site.seasons.iter().flat_map(of_season).collect()
}

/// The words of figures in a language.
pub fn figure_words(language: Language) -> Words {
    Words::from_texts(language.decimal_mark(), |id| say(language, id, &[]))
}

/// The site's name and the year; the charts put their own words behind it.
fn place(site: &SiteReport, season: &SeasonReport, language: Language) -> String {
    let name = site.name.clone().unwrap_or_else(|| messages::say(language, "sites.unnamed", &[]));
    format!("{name} {}", season.year)
}

fn drawn(draw: impl Fn(u32) -> Option<Figure>) -> Option<Drawn> {
    Some(Drawn { wide: svg(&draw(WIDE)?), narrow: with_other_ids(&svg(&draw(NARROW)?)) })
}

/// Both widths stand on one page, where an id may stand only once.
fn with_other_ids(svg: &str) -> String {
    let names = svg.split_once("aria-labelledby=\"t").and_then(|(_, rest)| rest.split_once(' '));
    match names {
        Some((fingerprint, _)) if fingerprint.len() == 16 => svg
            .replace(&format!("\"t{fingerprint} d{fingerprint}\""), &format!("\"nt{fingerprint} nd{fingerprint}\""))
            .replace(&format!("id=\"t{fingerprint}\""), &format!("id=\"nt{fingerprint}\""))
            .replace(&format!("id=\"d{fingerprint}\""), &format!("id=\"nd{fingerprint}\"")),
        Some(_) | None => svg.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_catalogue_has_the_words_that_figures_speak() {
        assert_eq!(figure_words(Language::En), figure::english());
        for language in Language::ALL {
            assert!(figure_words(language).months.iter().all(|month| !month.is_empty()));
        }
    }

    #[test]
    fn two_widths_share_no_id() {
        let one = "<svg aria-labelledby=\"t0123456789abcdef d0123456789abcdef\"><title id=\"t0123456789abcdef\"/>";
        let other = with_other_ids(one);
        assert!(
            other.contains("\"nt0123456789abcdef nd0123456789abcdef\"") && other.contains("id=\"nt0123456789abcdef\"")
        );
        assert!(!other.contains("\"t0123"));
    }
}
