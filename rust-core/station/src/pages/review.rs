//! One plant check, count by count: what was entered, what stands for it after a review, and the form to say otherwise.

use super::frame::Frame;
use super::visit::{counted, plant_path, split};
use super::{sites, time};
use crate::review::{Instead, ReviewAct};
use crate::store::coordinators::Role;
use maud::{Markup, html};
use messages::words;
use std::collections::{BTreeMap, BTreeSet};
use survey::check::ReviewReason;
use survey::fold::{CheckState, CountState, SiteState, TallyRow, VisitState};
use survey::ids::{CheckId, DeviceId, EntryId};
use survey::stage::What;
use survey::visit::Comparison;

/// Digits of a number that is typed at most.
const MOST_DIGITS: u8 = 5;

/// What the page is made of.
#[derive(Debug)]
pub struct Plant<'a> {
    /// The site.
    pub site: &'a SiteState,
    /// The visit.
    pub visit: &'a VisitState,
    /// The check.
    pub check: &'a CheckState,
    /// Its counts.
    pub counts: &'a [CountState],
    /// All checks of its number, where several phones used it.
    pub same_number: &'a BTreeSet<CheckId>,
    /// What a coordinator last said of those checks.
    pub compared: Option<(EntryId, Comparison)>,
    /// What the reader may do here.
    pub role: Role,
    /// The station's own device: what is in its journal can be taken back here.
    pub station: DeviceId,
}

/// The page.
pub fn page(frame: &Frame, plant: &Plant<'_>) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let title = frame.say("review.title", &[("number", plant.check.number.into())]);
    let visit = frame.link(&format!("/sites/{}/visits/{}#plant-{}", plant.site.id, plant.visit.id, plant.check.id));
    let date = time::day(frame.language, plant.visit);
    let name = sites::name(frame.language, plant.site.name.as_ref());
    let content = html! {
        p { a href=(visit) { (frame.say("review.back", &[("date", (&date).into())])) } }
        h1 { (title) }
        p.lead { bdi { (name) } ", " (words::host(frame.language, plant.check.host.as_ref())) }
        p { (say("review.lead")) }
        @if plant.same_number.len() > 1 { (comparison(frame, plant)) }
        @if plant.counts.is_empty() { p { (say("review.no-counts")) } }
        @for (number, count) in (1_u64..).zip(plant.counts) { (one_count(frame, plant, number, count)) }
    };
    frame.page(&title, &content)
}

fn one_count(frame: &Frame, plant: &Plant<'_>, number: u64, count: &CountState) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let row = TallyRow { what: count.what.clone(), state: count.state, number: count.number.into() };
    let anchor = format!("count-{}", count.entry);
    let at = time::local(count.at, count.offset);
    html! {
        section aria-labelledby=(anchor) {
            h2 id=(anchor) { (frame.say("review.count", &[("number", number.into()), ("what", (&counted(frame, &row)).into())])) }
            p { (frame.say("review.counted-at", &[("time", (&at).into())])) }
            @if let Some(review) = &count.review {
                p.counted { (frame.say("review.stands", &[("what", (&split(frame, count.state, &review.instead)).into())])) }
                p {
                    (frame.say("review.because", &[("reason", (&say(&reason_id(review.reason))).into())]))
                    @if review.differs { " " span.odd { (say("review.differs")) } }
                }
                @if plant.role >= Role::Review && review.device == plant.station {
                    (button(frame, plant, "review.take-back", &[("act", "take-back"), ("entry", &review.entry.to_string())]))
                }
            }
            @if plant.role >= Role::Review { (form(frame, plant, count)) }
        }
    }
}

fn form(frame: &Frame, plant: &Plant<'_>, count: &CountState) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let as_counted = BTreeMap::from([(count.what.clone(), count.number)]);
    let now = count.review.as_ref().map_or(&as_counted, |review| &review.instead);
    let reason = count.review.as_ref().map(|review| review.reason);
    let scope = plant.visit.protocol.iter().flat_map(|protocol| protocol.stages.iter().copied().map(What::Stage));
    let offered: BTreeSet<What> = scope.chain(now.keys().cloned()).chain([count.what.clone()]).collect();
    let id = |part: &str| format!("{part}-{}", count.entry);
    html! {
        form.review method="post" action=(frame.link(&plant_path(plant.site.id, plant.visit.id, plant.check.id))) {
            input type="hidden" name="form_token" value=(token(frame));
            input type="hidden" name="act" value="count";
            input type="hidden" name="count" value=(count.entry);
            fieldset {
                legend { (say("review.numbers")) }
                @for what in &offered {
                    @let field = id(&format!("n-{}", what.to_string().replace('+', "-or-")));
                    div {
                        label for=(field) { (words::what(frame.language, what)) }
                        input id=(field) type="text" inputmode="numeric" pattern="[0-9]*" maxlength=(MOST_DIGITS)
                            autocomplete="off" name={ "n." (what) } value=(now.get(what).map_or_else(String::new, u32::to_string));
                    }
                }
            }
            p {
                label for=(id("reason")) { (say("review.reason")) }
                select id=(id("reason")) name="reason" {
                    @for own in ReviewReason::ALL {
                        option value=(own.name()) selected[reason == Some(own)] { (say(&reason_id(own))) }
                    }
                }
            }
            p { button type="submit" { (say("review.save")) } }
        }
    }
}

fn comparison(frame: &Frame, plant: &Plant<'_>) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let said = plant.compared.map(|(entry, verdict)| (entry, say(comparison_id(verdict))));
    html! {
        section aria-labelledby="compare" {
            h2 #compare { (say("review.compare")) }
            @match &said {
                Some((_, said)) => { p.counted { (said) } }
                None => { p { (say("review.compare-lead")) } }
            }
            @if plant.role >= Role::Review {
                @for verdict in [Comparison::SamePlantIndependent, Comparison::DifferentPlants] {
                    @if plant.compared.is_none_or(|(_, said)| said != verdict) {
                        (button(frame, plant, comparison_id(verdict), &[("act", "compare"), ("verdict", comparison_id(verdict))]))
                    }
                }
                @if let Some((entry, _)) = &said {
                    (button(frame, plant, "review.take-back", &[("act", "take-back"), ("entry", &entry.to_string())]))
                }
            }
        }
    }
}

fn button(frame: &Frame, plant: &Plant<'_>, words: &str, fields: &[(&str, &str)]) -> Markup {
    html! {
        form method="post" action=(frame.link(&plant_path(plant.site.id, plant.visit.id, plant.check.id))) {
            input type="hidden" name="form_token" value=(token(frame));
            @for (name, value) in fields { input type="hidden" name=(name) value=(value); }
            p { button type="submit" { (frame.say(words, &[])) } }
        }
    }
}

/// The token that every form carries.
pub(super) fn token(frame: &Frame) -> &str {
    frame.who.as_ref().map_or("", |who| &who.form_token)
}

fn reason_id(reason: ReviewReason) -> String {
    format!("review.reason-{}", reason.name())
}

const fn comparison_id(verdict: Comparison) -> &'static str {
    match verdict {
        Comparison::SamePlantIndependent => "review.same-plant",
        Comparison::DifferentPlants => "review.different-plants",
    }
}

/// What a form's fields ask for; `None` where they make no sense. `same_number` are the checks that a comparison is about.
pub(super) fn asked(fields: &[(String, String)], same_number: &BTreeSet<CheckId>) -> Option<ReviewAct> {
    let field = |name: &str| fields.iter().find(|(own, _)| own == name).map(|(_, value)| value.as_str());
    match field("act")? {
        "take-back" => Some(ReviewAct::TakeBack { entry: field("entry")?.parse().ok()? }),
        "compare" => {
            let both = [Comparison::SamePlantIndependent, Comparison::DifferentPlants];
            let verdict = both.into_iter().find(|own| field("verdict") == Some(comparison_id(*own)))?;
            Some(ReviewAct::Compare { checks: same_number.clone(), verdict })
        }
        "count" => {
            let reason = ReviewReason::ALL.into_iter().find(|own| field("reason") == Some(own.name()))?;
            let mut numbers: BTreeMap<What, u32> = BTreeMap::new();
            for (name, value) in fields {
                let (Some(what), number) = (name.strip_prefix("n."), value.trim()) else { continue };
                if number.is_empty() {
                    continue;
                }
                let number: u32 = number.parse().ok()?;
                if number > 0 {
                    numbers.insert(what.parse().ok()?, number);
                }
            }
            let instead = if numbers.is_empty() { Instead::Nothing } else { Instead::Split(numbers) };
            Some(ReviewAct::Count { count: field("count")?.parse().ok()?, instead, reason })
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_ask_for_one_act_or_for_nothing() {
        let id = EntryId::from_octets([1; 16]).to_string();
        let ask = |pairs: &[(&str, &str)]| {
            let fields: Vec<_> = pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect();
            asked(&fields, &BTreeSet::new())
        };
        let count = [("act", "count"), ("count", id.as_str()), ("reason", "photo")];
        let with = |more: &[(&'static str, &'static str)]| ask(&[&count[..], more].concat());
        let instead = |act: Option<ReviewAct>| match act {
            Some(ReviewAct::Count { instead, .. }) => Some(instead),
            _ => None,
        };
        let split = |what: &str, number| Some(Instead::Split(BTreeMap::from([(what.parse().unwrap(), number)])));
        assert_eq!(instead(with(&[("n.egg", " 2 "), ("n.larva1", ""), ("n.pupa", "0")])), split("egg", 2));
        assert_eq!(instead(with(&[("n.egg+none", "1")])), split("egg+none", 1));
        assert_eq!(instead(with(&[("n.egg", ""), ("n.pupa", "0")])), Some(Instead::Nothing));
        for wrong in [("n.egg", "-1"), ("n.egg", "two"), ("n.egg", "99999999999"), ("n.beetle", "1")] {
            assert_eq!(with(&[wrong]), None, "{wrong:?}");
        }
        assert_eq!(ask(&[("act", "count"), ("count", &id), ("reason", "mood"), ("n.egg", "1")]), None);
        assert!(matches!(ask(&[("act", "take-back"), ("entry", &id)]), Some(ReviewAct::TakeBack { .. })));
        assert!(ask(&[("act", "compare"), ("verdict", "review.same-plant")]).is_some());
        for nothing in [&[][..], &[("act", "dance")], &[("act", "take-back"), ("entry", "7")], &[("act", "compare")]] {
            assert_eq!(ask(nothing), None, "{nothing:?}");
        }
    }
}
