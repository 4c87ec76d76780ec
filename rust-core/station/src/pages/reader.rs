//! Who reads a page, and in which language.

use super::frame::{Asked, Frame, Who};
use crate::http::{App, Fault, Signed};
use axum::extract::FromRequestParts;
use axum::http::{HeaderMap, Uri, header, request::Parts};
use messages::Language;
use std::convert::Infallible;

/// A signed-in reader.
#[derive(Debug)]
pub struct Reader {
    /// What may be seen.
    pub signed: Signed,
    /// What stands around the page.
    pub frame: Frame,
}

/// A reader without a session.
#[derive(Debug)]
pub struct Stranger(pub Frame);

impl FromRequestParts<App> for Reader {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Fault> {
        let signed = Signed::from_request_parts(parts, app).await?;
        let who = Who { name: signed.coordinator.name.clone(), form_token: signed.form_token.clone() };
        Ok(Self { signed, frame: Frame { who: Some(who), ..frame(&parts.uri, &parts.headers) } })
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Stranger {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(Self(frame(&parts.uri, &parts.headers)))
    }
}

/// The frame that a request asks for: `?language=` first, then the browser's wish, then English.
pub fn frame(uri: &Uri, headers: &HeaderMap) -> Frame {
    let by_address = uri.query().and_then(|query| {
        query.split('&').filter_map(|pair| pair.split_once('=')).find(|(name, _)| *name == "language")
    });
    let by_address = by_address.and_then(|(_, tag)| Language::of_tag(tag));
    let by_browser =
        headers.get(header::ACCEPT_LANGUAGE).and_then(|field| field.to_str().ok()).and_then(Language::preferred);
    Frame {
        language: by_address.or(by_browser).unwrap_or_default(),
        asked: if by_address.is_some() { Asked::ByAddress } else { Asked::ByBrowser },
        path: uri.path().to_owned(),
        who: None,
    }
}
