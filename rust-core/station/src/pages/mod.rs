//! The coordinator's pages. Every route here stands behind a session; handlers take [`crate::http::Signed`] to know who
//! asks, and [`crate::http::SignedForm`] where they change state.

use crate::http::{App, Signed};
use axum::Router;
use axum::response::Html;
use axum::routing::get;
use maud::{DOCTYPE, html};

/// The routes of the pages.
pub fn router() -> Router<App> {
    Router::new().route("/", get(start))
}

async fn start(signed: Signed) -> Html<String> {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width";
                title { "Leafturn" }
            }
            body {
                h1 { "Leafturn" }
                p { "Signed in as " (signed.coordinator.name) "." }
                form method="post" action="/sign-out" {
                    input type="hidden" name="form_token" value=(signed.form_token);
                    button type="submit" { "Sign out" }
                }
            }
        }
    };
    Html(page.into_string())
}
