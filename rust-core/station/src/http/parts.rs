//! `HEAD /v1/photos/{device}/{photo}` and `PUT .../parts/{n}`: photos in parts.

use super::app::App;
use super::body::{Answer, parse, read, text};
use super::phone::Phone;
use super::photos::{self, Taken};
use super::problem::Fault;
use crate::edge::clock;
use crate::store::blobs::{PART_OCTETS, PhotoRow, PhotoState};
use axum::extract::{Path, Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use survey::chain::Hash;
use survey::ids::{DeviceId, PhotoId};
use sync::wire::content::{self, PHOTO_SALT_HEADER};
use sync::wire::photo;
use sync::wire::problem::{Problem, ProblemType};

/// What the station has of one's own photo, in a header.
#[utoipa::path(head, path = sync::wire::paths::PHOTO, tag = "blobs", security(("token" = [])),
    params(("device" = String, Path, description = "One's own device, a UUID"), ("photo" = String, Path, description = "The photo, a UUID")),
    responses(
        (status = 200, description = "What is here", headers(("leafturn-photo" = String, description = "A PhotoState in JSON"))),
        (status = 404, description = "not-found: not one's own"),
        (status = 409, description = "not-named: no accepted entry names it")))]
pub(super) async fn head_photo(
    State(app): State<App>,
    phone: Phone,
    Path((device, photo)): Path<(String, String)>,
) -> Result<Response, Fault> {
    let row = own(&app, phone, &device, &photo).await?;
    let state = serde_json::to_string(&state_of(&row)).map_err(|error| Fault::internal(&error))?;
    let state = HeaderValue::from_str(&state).map_err(|error| Fault::internal(&error))?;
    let headers = [
        (header::CONTENT_TYPE, HeaderValue::from_static(content::JSON)),
        (HeaderName::from_static(content::PHOTO_HEADER), state),
    ];
    Ok(headers.into_response())
}

/// Keeps a part of one's own photo. With the last one the whole is verified; if it is not what its entry declared, all parts go.
#[utoipa::path(put, path = sync::wire::paths::PHOTO_PART, tag = "blobs", security(("token" = [])),
    params(("device" = String, Path, description = "One's own device, a UUID"), ("photo" = String, Path, description = "The photo, a UUID"),
        ("n" = u32, Path, description = "Number of the part, from 0"),
        ("leafturn-sha256" = String, Header, description = "SHA-256 of the part, 64 hexadecimal digits"),
        ("leafturn-salt" = String, Header, description = "Salt of the photo's hash, 32 hexadecimal digits")),
    request_body(content = Vec<u8>, content_type = sync::wire::content::PART, description = "1 MiB, the last part less"),
    responses(
        (status = 200, description = "The part is kept", body = photo::PhotoState, content_type = sync::wire::content::JSON),
        (status = 400, description = "hash-mismatch, malformed", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 404, description = "not-found: not one's own", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 409, description = "not-named, send-again", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 413, description = "too-large", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 507, description = "quota", body = Problem, content_type = sync::wire::content::PROBLEM)))]
pub(super) async fn put_part(
    State(app): State<App>,
    phone: Phone,
    Path((device, photo, n)): Path<(String, String, String)>,
    request: Request,
) -> Result<Answer<photo::PhotoState>, Fault> {
    super::body::require_type(request.headers(), content::PART)?;
    let n: u32 = parse("number of the part", &n)?;
    let declared: Hash = header_text(request.headers(), content::PART_HASH_HEADER)?
        .parse()
        .map_err(|error| Fault::malformed(format!("{}: {error}", content::PART_HASH_HEADER)))?;
    let salt = salt(request.headers())?;
    let row = own(&app, phone, &device, &photo).await?;
    match row.state {
        PhotoState::Verified { .. } => return Ok(Answer(state_of(&row))),
        PhotoState::Erased => {
            return Err(Fault::new(ProblemType::Refused, "this photo was erased and is not taken again"));
        }
        PhotoState::Partial(_) => {}
    }
    let Some(due) = row.part_octets(n) else {
        return Err(Fault::malformed(format!("part {n} of a photo of {} parts", row.parts())));
    };
    let body = read(request, usize::try_from(PART_OCTETS).unwrap_or(usize::MAX)).await?;
    if body.len() as u64 != due {
        return Err(Fault::malformed(format!("part {n} has {due} octets, {} came", body.len())));
    }
    if Hash::plain(&body) != declared {
        return Err(Fault::new(ProblemType::HashMismatch, format!("part {n} is not what its hash says")));
    }
    let folder = app.setting().photos.clone();
    let taken = app
        .store(move |store| {
            photos::take_part(store, &folder, &row, photos::Part { n, octets: &body, salt }, clock::now())
        })
        .await?;
    match taken {
        Taken::Kept(row) => Ok(Answer(state_of(&row))),
        Taken::SendAgain => {
            Err(Fault::new(ProblemType::SendAgain, "the whole is not what its entry declared; all parts are dropped"))
        }
        Taken::OverQuota => Err(Fault::new(ProblemType::Quota, "the quota of photos of this phone is full")),
    }
}

/// The phone's own photo. Others are not told whether one is here.
async fn own(app: &App, phone: Phone, device: &str, photo: &str) -> Result<PhotoRow, Fault> {
    let device: DeviceId = parse("device", device)?;
    let photo: PhotoId = parse("photo", photo)?;
    if device != phone.device {
        return Err(Fault::new(ProblemType::NotFound, "photos are asked for by the phone that took them"));
    }
    let row = app.store(move |store| store.photo(device, photo)).await?;
    row.ok_or_else(|| Fault::new(ProblemType::NotNamed, "no accepted entry of this phone names this photo"))
}

fn state_of(row: &PhotoRow) -> photo::PhotoState {
    match &row.state {
        PhotoState::Partial(parts) => photo::PhotoState { parts: parts.clone(), verified: false, backed_up: None },
        PhotoState::Verified { .. } => {
            photo::PhotoState { parts: (0..row.parts()).collect(), verified: true, backed_up: row.backed_up }
        }
        PhotoState::Erased => photo::PhotoState::default(),
    }
}

fn salt(headers: &HeaderMap) -> Result<[u8; 16], Fault> {
    let wrong = || Fault::malformed(format!("{PHOTO_SALT_HEADER}: 32 hexadecimal digits are due"));
    let digits = header_text(headers, PHOTO_SALT_HEADER)?;
    if digits.len() != 32 || !digits.bytes().all(|digit| digit.is_ascii_hexdigit()) {
        return Err(wrong());
    }
    u128::from_str_radix(digits, 16).map(u128::to_be_bytes).map_err(|_| wrong())
}

fn header_text<'h>(headers: &'h HeaderMap, name: &'static str) -> Result<&'h str, Fault> {
    text(headers, &HeaderName::from_static(name))
        .ok_or_else(|| Fault::malformed(format!("the header {name} is due here")))
}
