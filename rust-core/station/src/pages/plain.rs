//! Pages without data: signing in, signed out, errors, cautions.

use super::frame::Frame;
use maud::{Markup, html};
use sync::wire::problem::{Problem, ProblemType, TYPE_PREFIX};

/// What the sign-in page answers to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SignIn {
    /// Somebody came without a link.
    NoLink,
    /// Somebody came with a link, which a button spends.
    Link,
    /// The link did not open anything.
    Wrong,
}

/// Signing in.
pub fn sign_in(frame: &Frame, how: &SignIn) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let content = html! {
        h1 { (say("page.sign-in")) }
        @match how {
            SignIn::Link => {
                p { (say("sign-in.how")) }
                form method="post" { button type="submit" { (say("sign-in.do")) } }
            }
            SignIn::NoLink | SignIn::Wrong => {
                @if *how == SignIn::Wrong { p.odd role="alert" { (say("sign-in.wrong")) } }
                p { (say("sign-in.lead")) }
                form method="get" action="/sign-in" {
                    p {
                        label for="code" { (say("sign-in.code")) }
                        input #code type="text" name="code" required autocomplete="off" autocapitalize="off" spellcheck="false";
                    }
                    p { button type="submit" { (say("sign-in.do")) } }
                }
                p { small { (say("sign-in.how")) } }
            }
        }
    };
    frame.page(&say("page.sign-in"), &content)
}

/// Signed out.
pub fn signed_out(frame: &Frame) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let content = html! {
        h1 { (say("signed-out.title")) }
        p.lead { (say("signed-out.lead")) }
        p { a href=(frame.link("/sign-in")) { (say("signed-out.again")) } }
    };
    frame.page(&say("signed-out.title"), &content)
}

/// Something did not work: what, and what to do next.
pub fn error(frame: &Frame, problem: &Problem) -> Markup {
    let own = match &problem.kind {
        ProblemType::Other(uri) => uri.strip_prefix(TYPE_PREFIX).unwrap_or(uri),
        known => known.name(),
    };
    let title = match own {
        "not-found" => "error.not-found",
        "not-allowed" => "error.not-allowed",
        _ => "error.title",
    };
    let title = frame.say(title, &[]);
    let words = format!("problem.{own}");
    let content = html! {
        h1 { (title) }
        @if messages::knows(&words) { p.lead { (frame.say(&words, &[])) } } @else {
            p.lead lang="en" { (problem.detail.as_ref().unwrap_or(&problem.title)) }
        }
        @if own == "not-allowed" { p { (frame.say("error.ask-coordinator", &[])) } }
        @if let Some(instance) = &problem.instance {
            p { (frame.say("error.try-again", &[("instance", instance.into())])) }
        }
        p { a href=(frame.link("/")) { (frame.say("error.go-home", &[])) } }
    };
    frame.page(&title, &content)
}

/// What to take care of outdoors: common advice, behind local rules and licensed practice.
pub fn cautions(frame: &Frame) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let parts = ["sap", "heat", "ticks", "roads", "permission", "animals"];
    let content = html! {
        h1 { (say("page.cautions")) }
        p.lead { (say("cautions.lead")) }
        @for part in parts {
            section aria-labelledby=(part) {
                h2 id=(part) { (say(&format!("cautions.{part}-title"))) }
                p { (say(&format!("cautions.{part}"))) }
            }
        }
    };
    frame.page(&say("page.cautions"), &content)
}
