//! Below a season's table: animals per hectare, what to expect, and the passage of stages with its caveats.

use crate::report::analysis::{Figure, SeasonReport};
use crate::report::passage::{DAYS, ExpectRow, Hectare, Passage, expect, hectare, passage, survival};
use maud::{Markup, html};
use messages::{Language, decimal, integer, say, words};
use season::passage::Survival;
use season::{Estimate, Level, Refusal};
use survey::date::Date;
use survey::fold::SiteState;

/// The sections of one season; what to expect stands below the latest alone.
pub(super) fn sections(language: Language, site: &SiteState, season: &SeasonReport, is_latest: Latest) -> Markup {
    let latest = season.visits.last().map(|visit| visit.date);
    html! {
        @if let Some(found) = hectare(site, season, Level::P95) { (per_hectare(language, &found)) }
        @if let (Latest::Yes, Some(laid)) = (is_latest, latest) { (expected(language, laid, &expect(laid))) }
        (passing(language, &passage(season)))
        @if is_latest == Latest::Yes { (surviving(language, &survival(season, Level::P95))) }
    }
}

/// Whether a season is the latest of its site.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Latest {
    /// It is.
    Yes,
    /// It is not.
    No,
}

fn per_hectare(language: Language, found: &Result<Hectare, Refusal>) -> Markup {
    let say = |id: &str| say(language, id, &[]);
    let hectare = match found {
        Ok(hectare) => hectare,
        Err(refusal) => {
            return html! {
                h3 { (say("season.hectare-title")) }
                p { (say(refusal.message().name())) }
            };
        }
    };
    let told = [
        ("date", hectare.counted.to_string().into()),
        ("stems", rounded(language, &hectare.hosts).into()),
        ("visit", hectare.visit.to_string().into()),
    ];
    html! {
        h3 { (say("season.hectare-title")) }
        p { (messages::say(language, "season.hectare-lead", &told)) }
        table.cards role="table" {
            caption { (say("season.hectare-caption")) }
            thead role="rowgroup" {
                tr role="row" {
                    th scope="col" role="columnheader" { (say("season.stage-column")) }
                    th scope="col" role="columnheader" { (say("season.hectare-column")) }
                }
            }
            tbody role="rowgroup" {
                @for (stage, figure) in &hectare.rows {
                    tr role="row" {
                        th scope="row" role="rowheader" { (words::stage(language, *stage)) }
                        td role="cell" data-label=(say("season.hectare-column")) {
                            @match figure {
                                Figure::Value(estimate) => span.n { (rounded(language, estimate)) },
                                Figure::Refused(why) => small { (say(why.name())) },
                            }
                        }
                    }
                }
            }
        }
    }
}

fn expected(language: Language, laid: Date, rows: &[ExpectRow]) -> Markup {
    let say = |id: &str| say(language, id, &[]);
    let column = |celsius: f64| {
        messages::say(language, "season.clock-column", &[("celsius", decimal(language, celsius, 0).into())])
    };
    html! {
        h3 { (say("season.clock-title")) }
        p { (messages::say(language, "season.clock-lead", &[("date", laid.to_string().into())])) }
        table.cards role="table" {
            caption { (say("season.clock-caption")) }
            thead role="rowgroup" {
                tr role="row" {
                    th scope="col" role="columnheader" { (say("season.stage-column")) }
                    @for celsius in DAYS { th scope="col" role="columnheader" { (column(celsius)) } }
                }
            }
            tbody role="rowgroup" {
                @for row in rows {
                    tr role="row" {
                        th scope="row" role="rowheader" { (words::stage(language, row.stage)) }
                        @for (end, celsius) in row.ends.iter().zip(DAYS) {
                            td role="cell" data-label=(column(celsius)) {
                                @match end {
                                    Some(date) => span.n { (date) },
                                    None => small { (say("visit.not-known")) },
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn passing(language: Language, found: &Result<Passage, Refusal>) -> Markup {
    let say = |id: &str| say(language, id, &[]);
    let passage = match found {
        Ok(passage) => passage,
        Err(refusal) => {
            return html! {
                h3 { (say("season.passage-title")) }
                p { (say(refusal.message().name())) }
            };
        }
    };
    let ratio = decimal(language, passage.ratio.value, 2);
    html! {
        h3 { (say("season.passage-title")) }
        p { (say("season.passage-lead")) }
        table.cards role="table" {
            caption { (say("season.passage-caption")) }
            thead role="rowgroup" {
                tr role="row" {
                    th scope="col" role="columnheader" { (say("season.stage-column")) }
                    th scope="col" role="columnheader" { (say("season.passage-date")) }
                    th scope="col" role="columnheader" { (say("season.passage-days")) }
                    th scope="col" role="columnheader" { (say("season.passage-present")) }
                }
            }
            tbody role="rowgroup" {
                @for row in &passage.rows {
                    tr role="row" {
                        th scope="row" role="rowheader" { (words::stage(language, row.stage)) }
                        td role="cell" data-label=(say("season.passage-date")) {
                            @match row.mean_date {
                                Some(date) => span.n { (date) },
                                None => small { (say("season.none-found")) },
                            }
                        }
                        td role="cell" data-label=(say("season.passage-days")) { span.n { (decimal(language, row.days, 1)) } }
                        td role="cell" data-label=(say("season.passage-present")) { span.n { (decimal(language, row.present, 2)) } }
                    }
                }
            }
        }
        p { (messages::say(language, "season.passage-ratio", &[("ratio", ratio.into())])) }
        ul { @for id in &passage.assumed { li { (say(id.name())) } } }
    }
}

fn surviving(language: Language, found: &Result<[Survival; 3], Refusal>) -> Markup {
    let plain = |id: &str| say(language, id, &[]);
    let told = |own: &Survival| match own {
        Survival::Estimated(estimate) => share(language, estimate),
        Survival::NotIdentified(why) => plain(why.name()),
    };
    let line = |(celsius, own): (f64, &Survival)| {
        let degrees = decimal(language, celsius, 0);
        say(language, "season.survival-line", &[("degrees", degrees.into()), ("value", told(own).into())])
    };
    html! {
        h3 { (plain("season.survival-title")) }
        @match found {
            Ok(all) => {
                p { (plain("season.survival-lead")) }
                ul { @for own in DAYS.into_iter().zip(all) { li { (line(own)) } } }
            }
            Err(refusal) => p { (plain(refusal.message().name())) }
        }
        p { (plain("season.passage-survival")) }
    }
}

/// A share with its interval, in per cent.
fn share(language: Language, estimate: &Estimate) -> String {
    let percent = |share: f64| messages::percent(language, share, 1);
    match &estimate.interval {
        Some(own) => format!("{} ({}–{})", percent(estimate.value), percent(own.low), percent(own.high)),
        None => percent(estimate.value),
    }
}

/// A large number with its interval, without decimals.
fn rounded(language: Language, estimate: &Estimate) -> String {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "no density is below zero")]
    let whole = |value: f64| integer(language, value.round().max(0.0) as u64);
    let value = whole(estimate.value);
    match &estimate.interval {
        Some(own) => format!("{value} ({}–{})", whole(own.low), whole(own.high)),
        None => value,
    }
}
