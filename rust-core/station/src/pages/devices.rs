//! Phones and their journals: what they say they recorded, and what came in.

use super::frame::Frame;
use super::time;
use crate::store::access::{DeviceRow, TokenState};
use crate::store::journal::{Standing, StreamRow};
use maud::{Markup, html};
use messages::integer;
use std::fmt::Display;
use survey::ids::DeviceId;

/// Digits of an id that are shown: enough to tell a station's phones apart.
const SHOWN_DIGITS: usize = 8;

/// Acts of one journal, or of several together.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Acts {
    /// Recorded, as far as the phone has said or shown.
    pub recorded: u64,
    /// Received.
    pub received: u64,
    /// Not here yet.
    pub missing: u64,
    /// Places whose act the phone could not hand over.
    pub holes: u64,
    /// Received, and not readable to this version.
    pub unreadable: u64,
}

/// What is known of a journal's acts. Of a journal with branches every branch's acts are received.
pub fn acts(stream: &StreamRow) -> Acts {
    let reached = stream.heads.iter().map(|head| head.seq.0).max().unwrap_or(0);
    let recorded = stream.announced.max(reached);
    Acts {
        recorded,
        received: stream.entries,
        missing: recorded - reached,
        holes: stream.holes,
        unreadable: stream.undecodable,
    }
}

/// The page.
pub fn page(frame: &Frame, devices: &[DeviceRow], streams: &[StreamRow]) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let silent: Vec<&DeviceRow> =
        devices.iter().filter(|device| streams.iter().all(|stream| stream.stream.device != device.device)).collect();
    let content = html! {
        h1 { (say("page.devices")) }
        @if streams.is_empty() && silent.is_empty() { p { (say("devices.none")) } } @else {
            p.lead { (say("devices.lead")) }
            (table(frame, devices, streams, &silent))
        }
    };
    frame.page(&say("page.devices"), &content)
}

fn table(frame: &Frame, devices: &[DeviceRow], streams: &[StreamRow], silent: &[&DeviceRow]) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let heads = [
        "devices.device",
        "devices.recorded",
        "devices.received",
        "devices.missing",
        "devices.holes",
        "devices.unreadable",
        "devices.branches",
        "devices.last-seen",
        "devices.state",
    ];
    let sum = streams.iter().map(acts).fold(Acts::default(), |sum, one| Acts {
        recorded: sum.recorded + one.recorded,
        received: sum.received + one.received,
        missing: sum.missing + one.missing,
        holes: sum.holes + one.holes,
        unreadable: sum.unreadable + one.unreadable,
    });
    html! {
        table.cards role="table" {
            caption { (say("devices.caption")) }
            thead role="rowgroup" {
                tr role="row" { @for id in heads { th scope="col" role="columnheader" { (say(id)) } } }
            }
            tbody role="rowgroup" {
                @for stream in streams { (row(frame, devices.iter().find(|device| device.device == stream.stream.device), stream)) }
                @for device in silent { (nothing_sent(frame, device)) }
            }
            tfoot role="rowgroup" {
                tr role="row" {
                    th scope="row" role="rowheader" { (say("devices.sum")) }
                    (numbers(frame, sum))
                    @for _ in 0..3 { td.none role="cell" {} }
                }
            }
        }
    }
}

fn row(frame: &Frame, device: Option<&DeviceRow>, stream: &StreamRow) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let token = match device.map(|device| device.state) {
        Some(TokenState::Living) => "devices.token-living",
        Some(TokenState::Revoked) => "devices.token-revoked",
        None => "devices.token-none",
    };
    let standing = match stream.standing {
        Standing::Verified => "devices.verified",
        Standing::Unverified => "devices.unverified",
    };
    html! {
        tr role="row" {
            th scope="row" role="rowheader" {
                (name(frame, device, stream.stream.device)) " "
                small { (frame.say("devices.journal", &[("id", last_digits(stream.stream.epoch).into())])) }
            }
            (numbers(frame, acts(stream)))
            td role="cell" data-label=(say("devices.branches")) {
                @if stream.heads.len() > 1 {
                    span.odd { (frame.say("devices.several-branches", &[("number", stream.heads.len().into())])) }
                } @else { span { (say("devices.one-branch")) } }
            }
            td role="cell" data-label=(say("devices.last-seen")) { span.n { (time::utc(stream.last_seen)) } }
            td role="cell" data-label=(say("devices.state")) { span { (say(token)) } small { (say(standing)) } }
        }
    }
}

fn nothing_sent(frame: &Frame, device: &DeviceRow) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    html! {
        tr role="row" {
            th scope="row" role="rowheader" { (name(frame, Some(device), device.device)) }
            (numbers(frame, Acts::default()))
            td.none role="cell" {}
            td role="cell" data-label=(say("devices.last-seen")) { span.n { (time::utc(device.joined)) } }
            td role="cell" data-label=(say("devices.state")) {
                span {
                    (say(match device.state { TokenState::Living => "devices.nothing-sent", TokenState::Revoked => "devices.token-revoked" }))
                }
            }
        }
    }
}

fn numbers(frame: &Frame, acts: Acts) -> Markup {
    let cells = [
        ("devices.recorded", acts.recorded, false),
        ("devices.received", acts.received, false),
        ("devices.missing", acts.missing, acts.missing > 0),
        ("devices.holes", acts.holes, acts.holes > 0),
        ("devices.unreadable", acts.unreadable, acts.unreadable > 0),
    ];
    html! {
        @for (id, number, odd) in cells {
            td role="cell" data-label=(frame.say(id, &[])) { span.odd[odd] { (integer(frame.language, number)) } }
        }
    }
}

fn name(frame: &Frame, device: Option<&DeviceRow>, id: DeviceId) -> Markup {
    if let Some(name) = device.and_then(|device| device.name.as_ref()) {
        return html! { bdi { (name) } };
    }
    html! { (frame.say("devices.unnamed", &[("id", last_digits(id).into())])) }
}

fn last_digits(id: impl Display) -> String {
    let text = id.to_string();
    text[text.len().saturating_sub(SHOWN_DIGITS)..].to_owned()
}
