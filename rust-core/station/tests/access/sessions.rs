//! Sessions from their beginning to their end: fixed by nobody, one link once, forms of their own, and really over.

use crate::world::{Answer, HOST, Session, World, now};
use axum::http::{Method, header};
use station::security::secret::Secret;
use station::store::coordinators::{Grant, IDLE_MS, LIFE_MS, LINK_MS, Role};
use survey::time::UnixMs;

const EVERYWHERE: Grant = Grant { role: Role::Administer, site: None };

/// Presses the button behind a link, in a browser that has this cookie, from a page of this origin.
async fn sign_in(world: &World, link: &Secret, cookie: &str, origin: &str) -> Answer {
    let request = world.request(&Method::POST, &format!("/sign-in/{}", link.reveal()));
    let request = request.header(header::ORIGIN, origin).header(header::COOKIE, cookie);
    world.send(request, Vec::new()).await
}

async fn sign_out(world: &World, session: &Session, form_token: &str) -> Answer {
    let request = world.request(&Method::POST, "/sign-out").header(header::ORIGIN, format!("http://{HOST}"));
    let request = request.header(header::COOKIE, format!("leafturn-session={}", session.secret));
    let request = request.header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    world.send(request, format!("form_token={form_token}").into_bytes()).await
}

async fn home(world: &World, cookie: &str) -> u16 {
    world.send(world.request(&Method::GET, "/").header(header::COOKIE, cookie), Vec::new()).await.status.as_u16()
}

/// Session fixation: what a browser came with is neither taken over nor left alive.
#[tokio::test]
async fn signing_in_gives_a_fresh_session_and_ends_the_one_before() {
    let world = World::new().await;
    let own = format!("http://{HOST}");
    let before = world.session(Role::Read, None, now());
    let planted = "ab".repeat(32);
    for carried in [before.secret.clone(), planted.clone()] {
        let opened =
            sign_in(&world, &world.link(EVERYWHERE, now()), &format!("leafturn-session={carried}"), &own).await;
        assert_eq!(opened.said(), "303");
        let cookie = opened.headers["set-cookie"].to_str().unwrap().to_owned();
        assert!(!cookie.contains(&carried));
        for attribute in ["; Path=/", "; HttpOnly", "; SameSite=Strict"] {
            assert!(cookie.contains(attribute), "{cookie}");
        }
        assert!(!cookie.contains("Domain") && !cookie.contains("Max-Age") && !cookie.contains("Expires"), "{cookie}");
        assert_eq!(home(&world, cookie.split(';').next().unwrap()).await, 200);
    }
    assert!(!world.lives(&before), "the session before has ended");
    assert_eq!(home(&world, &format!("leafturn-session={planted}")).await, 401);
}

/// Login CSRF: a foreign page can neither spend a link nor sign its visitor in.
#[tokio::test]
async fn a_link_is_spent_once_from_our_own_page_and_in_its_time() {
    let world = World::new().await;
    let own = format!("http://{HOST}");
    let link = world.link(EVERYWHERE, now());
    for foreign in ["http://elsewhere.example", "null", "https://127.0.0.1:8787", "http://127.0.0.1"] {
        assert_eq!(sign_in(&world, &link, "", foreign).await.said(), "403 foreign-form", "{foreign}");
    }
    let looked = world.request(&Method::GET, &format!("/sign-in/{}", link.reveal()));
    assert_eq!(world.send(looked, Vec::new()).await.said(), "200", "looking spends nothing");
    assert_eq!(sign_in(&world, &link, "", &own).await.said(), "303");
    assert_eq!(sign_in(&world, &link, "", &own).await.said(), "401 not-signed-in");
    let old = world.link(EVERYWHERE, UnixMs(now().0 - LINK_MS));
    assert_eq!(sign_in(&world, &old, "", &own).await.said(), "401 not-signed-in");
}

#[tokio::test]
async fn a_form_belongs_to_its_session_and_signing_out_ends_it_at_the_station() {
    let world = World::new().await;
    let [one, other] = [(); 2].map(|()| world.session(Role::Administer, None, now()));
    let expired = world.expired_session();
    assert_ne!(one.form_token, other.form_token);
    for wrong in [other.form_token.as_str(), expired.form_token.as_str(), "", &one.form_token[..32], &one.secret] {
        assert_eq!(sign_out(&world, &one, wrong).await.said(), "403 foreign-form", "{wrong}");
    }
    assert!(world.lives(&one));
    let out = sign_out(&world, &one, &one.form_token).await;
    assert_eq!(out.said(), "303");
    assert!(
        out.headers["set-cookie"].to_str().unwrap().contains("leafturn-session=; Path=/"),
        "the browser forgets it"
    );
    assert!(out.headers["set-cookie"].to_str().unwrap().contains("Max-Age=0"));
    assert!(!world.lives(&one) && world.lives(&other));
    assert_eq!(home(&world, &format!("leafturn-session={}", one.secret)).await, 401, "nor does the station take it");
}

#[tokio::test]
async fn sessions_end_when_idle_and_after_a_week_in_any_case() {
    let world = World::new().await;
    for (age_ms, opens) in [(0, 200), (IDLE_MS - 600_000, 200), (IDLE_MS + 1, 401), (LIFE_MS + 1, 401)] {
        let session = world.session(Role::Read, None, UnixMs(now().0 - age_ms));
        assert_eq!(home(&world, &format!("leafturn-session={}", session.secret)).await, opens, "{age_ms}");
    }
}
