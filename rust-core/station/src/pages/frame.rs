//! What stands around every page: landmarks, menu, languages, who is signed in.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use messages::{Arg, Language, say};

/// The one style sheet.
pub const STYLE: &str = include_str!("style.css");

/// Where the style sheet is served.
pub const STYLE_PATH: &str = "/style.css";
/// Where the small picture beside a page's title in the browser lies.
pub const ICON_PATH: &str = "/icon.svg";

/// The reader, and what the page is.
#[derive(Debug, Clone)]
pub struct Frame {
    /// Language of the page.
    pub language: Language,
    /// Whether the address asked for the language, so that links must ask again.
    pub asked: Asked,
    /// Path of the page, without query.
    pub path: String,
    /// Who is signed in.
    pub who: Option<Who>,
}

/// Where the language came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// From the address.
    ByAddress,
    /// From the browser's wish, or nobody said.
    ByBrowser,
}

/// Who is signed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Who {
    /// Their name.
    pub name: String,
    /// Goes into every form.
    pub form_token: String,
}

impl Frame {
    /// Words in the reader's language.
    pub fn say(&self, id: &str, args: &[(&str, Arg<'_>)]) -> String {
        say(self.language, id, args)
    }

    /// A link within the station, in the language that was asked for. `path` may end in a fragment.
    pub fn link(&self, path: &str) -> String {
        match self.asked {
            Asked::ByBrowser => path.to_owned(),
            Asked::ByAddress => {
                let (path, fragment) = path.split_once('#').map_or((path, None), |(path, part)| (path, Some(part)));
                let fragment = fragment.map_or_else(String::new, |part| format!("#{part}"));
                format!("{path}?language={}{fragment}", self.language.name())
            }
        }
    }

    /// A page of the station.
    pub fn page(&self, title: &str, content: &Markup) -> Markup {
        let style = html! {
            link rel="stylesheet" href=(STYLE_PATH);
            link rel="icon" type="image/svg+xml" href=(ICON_PATH);
        };
        let above = html! {
            header.frame {
                p.name { a href=(self.link("/")) { "Leafturn" } }
                @if self.who.is_some() { (self.menu()) }
                (self.reader())
            }
        };
        let below = html! { footer.frame { p { (self.say("page.foot", &[])) } } };
        document(self.language, title, &style, &html! { (above) main.frame #content { (content) } (below) })
    }

    fn menu(&self) -> Markup {
        let items = [("/", "page.sites"), ("/devices", "page.devices"), ("/cautions", "page.cautions")];
        html! {
            nav aria-label=(self.say("page.menu", &[])) {
                ul {
                    @for (path, id) in items {
                        li { a href=(self.link(path)) aria-current=[(path == self.path).then_some("page")] { (self.say(id, &[])) } }
                    }
                }
            }
        }
    }

    fn reader(&self) -> Markup {
        html! {
            div.who {
                nav aria-label=(self.say("page.language", &[])) {
                    ul {
                        @for language in Language::ALL {
                            li {
                                @let current = (language == self.language).then_some("true");
                                a href={ (self.path) "?language=" (language.name()) } lang=(language.tag()) hreflang=(language.tag()) aria-current=[current] { (language.own_name()) }
                            }
                        }
                    }
                }
                @if let Some(who) = &self.who {
                    span { (self.say("page.signed-in-as", &[("name", (&who.name).into())])) }
                    form method="post" action="/sign-out" {
                        input type="hidden" name="form_token" value=(who.form_token);
                        button type="submit" { (self.say("page.sign-out", &[])) }
                    }
                }
            }
        }
    }
}

/// A page that needs no station: its style stands in it, and it opens from a disk.
pub fn stand_alone(language: Language, title: &str, content: &Markup) -> Markup {
    let style = html! { style { (PreEscaped(STYLE)) } };
    document(language, title, &style, &html! { main.frame #content { (content) } })
}

fn document(language: Language, title: &str, style: &Markup, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang=(language.tag()) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="robots" content="noindex";
                title { (title) " · Leafturn" }
                (style)
            }
            body {
                a.skip href="#content" { (say(language, "page.skip", &[])) }
                (body)
            }
        }
    }
}
