//! The phone behind a request, by its token.

use super::app::App;
use super::body::text;
use super::problem::Fault;
use crate::security::hosts::client_address;
use crate::security::secret::SecretHash;
use crate::store::access::TokenState;
use axum::extract::{ConnectInfo, FromRequestParts};
use axum::http::{HeaderName, header, request::Parts};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use survey::ids::DeviceId;
use sync::wire::problem::ProblemType;

/// A phone that has joined.
#[derive(Debug, Clone, Copy)]
pub(super) struct Phone {
    /// Its device.
    pub(super) device: DeviceId,
    /// The hash of its token.
    pub(super) token: SecretHash,
}

/// Where a request comes from.
pub(super) struct Address(pub(super) IpAddr);

/// A token is at most so long.
const LONGEST_TOKEN: usize = 256;

impl FromRequestParts<App> for Phone {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Fault> {
        let field = text(&parts.headers, &header::AUTHORIZATION);
        let token =
            field.and_then(|field| field.split_once(' ')).filter(|(scheme, _)| scheme.eq_ignore_ascii_case("bearer"));
        let Some((_, token)) = token.filter(|(_, token)| (32..=LONGEST_TOKEN).contains(&token.len())) else {
            return Err(Fault::new(
                ProblemType::NotJoined,
                "an Authorization: Bearer field with the phone's token is due here",
            ));
        };
        let token = SecretHash::of_token(token);
        match app.store(move |store| store.token(token)).await? {
            Some(row) if row.state == TokenState::Living => Ok(Self { device: row.device, token }),
            Some(_) | None => {
                Err(Fault::new(ProblemType::NotJoined, "this token is not known, or was revoked: join again"))
            }
        }
    }
}

impl FromRequestParts<App> for Address {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Fault> {
        let peer = parts.extensions.get::<ConnectInfo<SocketAddr>>().map(|ConnectInfo(peer)| peer.ip());
        let peer = peer.unwrap_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED));
        let forwarded = text(&parts.headers, &HeaderName::from_static("x-forwarded-for"));
        Ok(Self(client_address(peer, forwarded, app.setting().behind_proxy)))
    }
}
