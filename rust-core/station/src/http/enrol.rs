//! `POST /v1/enrol`: joining with a code.

use super::app::App;
use super::body::{Answer, Json};
use super::phone::Address;
use super::problem::Fault;
use crate::edge::clock;
use crate::security::codes::Code;
use crate::security::secret::SecretHash;
use crate::store::access::{Joining, Redeemed};
use axum::extract::State;
use sync::wire::enrol::{Enrol, Enrolled};
use sync::wire::problem::{Problem, ProblemType};

/// Joins a phone. The same code, device and token again succeed again within the code's life.
#[utoipa::path(post, path = sync::wire::paths::ENROL, tag = "joining",
    request_body(content = Enrol, content_type = sync::wire::content::JSON),
    responses(
        (status = 200, description = "The phone has joined", body = Enrolled, content_type = sync::wire::content::JSON),
        (status = 403, description = "wrong-code", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 409, description = "code-used, device-taken", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 429, description = "slow-down", body = Problem, content_type = sync::wire::content::PROBLEM)))]
pub(super) async fn enrol(
    State(app): State<App>,
    Address(address): Address,
    Json(enrol): Json<Enrol>,
) -> Result<Answer<Enrolled>, Fault> {
    let at = clock::now();
    app.joining().take(address, at)?;
    let code: Code = enrol
        .code
        .parse()
        .map_err(|error: crate::security::codes::NotACode| Fault::new(ProblemType::WrongCode, error.to_string()))?;
    let joining = Joining {
        digest: code.digest(app.setting().key.octets()),
        prefix: code.prefix(),
        device: enrol.device,
        token: SecretHash(enrol.token_hash.0),
        at,
    };
    match app.store(move |store| store.redeem(&joining)).await? {
        Redeemed::Joined { sites } => Ok(Answer(Enrolled { device: enrol.device, sites, station: None })),
        // Dead codes are not told from wrong ones: that would say which prefixes were in use.
        Redeemed::Unknown => Err(Fault::new(
            ProblemType::WrongCode,
            "no living invitation has this code; codes live 24 hours and die after 10 wrong tries",
        )),
        Redeemed::Spent => Err(Fault::new(ProblemType::CodeUsed, "another phone has joined with this code")),
        Redeemed::DeviceTaken => Err(Fault::device_taken()),
    }
}
