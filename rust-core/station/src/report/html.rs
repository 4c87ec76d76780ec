//! A report as one HTML file: style and figures stand in it, it opens from a disk and asks nobody for anything.

use super::analysis::SiteReport;
use super::load::Loaded;
use super::text::name;
use crate::pages::frame::stand_alone;
use crate::pages::{season, time};
use maud::html;
use messages::{Language, say};
use survey::time::UnixMs;

/// One site's report.
pub fn page(report: &SiteReport, loaded: &Loaded, language: Language, made: UnixMs) -> String {
    let title = say(language, "report.title", &[("site", name(report, language).into())]);
    let made_by = [("number", loaded.entries.into()), ("time", time::utc(made).into())];
    let content = html! {
        (season::content(language, report, loaded, &|_| None))
        p { small { (say(language, "page.made-by", &made_by)) } }
    };
    stand_alone(language, &title, &content).into_string()
}

/// The list of reports beside it: file and name of each.
pub fn index(files: &[(String, String)], language: Language) -> String {
    let title = say(language, "report.index", &[]);
    let content = html! {
        h1 { (title) }
        ul { @for (file, name) in files { li { a href=(file) { bdi { (name) } } } } }
    };
    stand_alone(language, &title, &content).into_string()
}
