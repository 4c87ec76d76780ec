//! What a shell can call. Each call passes on to the handset and mirrors its record; the rest of this file is what several
//! calls have in common.

#![expect(clippy::missing_errors_doc, reason = "every call has the same error, and its kinds are told at `Failure`")]
#![expect(clippy::needless_pass_by_value, reason = "what comes over the boundary is owned by the call")]

mod counting;
mod key;
mod mine;
mod opening;
mod plant;
mod review;
mod season;
mod sending;
mod sites;
mod visit;

use crate::records::{CountingScreen, Opened, ReviewScreen, SendingScreen, SitesScreen, StartScreen, plant_of};
use crate::voice::Voice;
use handset::{Handset, HandsetError};
use std::collections::HashMap;
use survey::ids::SiteId;

fn opened(handset: &Handset, voice: Voice) -> Opened {
    let opened = handset.opened();
    let said = opened.set_aside.iter().map(|_| voice.counted("phone.set-aside", opened.salvaged));
    Opened { said: said.collect() }
}

fn fixed(voice: Voice) -> HashMap<String, String> {
    let shells = |id: &&str| id.starts_with("phone.") || id.starts_with("cautions.");
    messages::ids().filter(shells).map(|id| (id.to_owned(), voice.plain(id))).collect()
}

fn sites(handset: &mut Handset, voice: Voice) -> Result<SitesScreen, HandsetError> {
    Ok(SitesScreen::of(&handset.sites()?, &handset.sync_status()?, voice))
}

fn start(handset: &mut Handset, site: SiteId, voice: Voice) -> Result<StartScreen, HandsetError> {
    Ok(StartScreen::of(&handset.start(site)?, voice))
}

fn counting(handset: &mut Handset, voice: Voice) -> Result<CountingScreen, HandsetError> {
    let plant = plant_of(handset.screen()?);
    on(handset, plant, voice)
}

fn on(
    handset: &mut Handset,
    plant: Option<handset::views::PlantView>,
    voice: Voice,
) -> Result<CountingScreen, HandsetError> {
    Ok(CountingScreen::of(&handset.visit_around()?, plant.as_ref(), voice))
}

fn review(handset: &mut Handset, voice: Voice) -> Result<ReviewScreen, HandsetError> {
    let visit = handset.visit()?;
    let review = handset.review(visit.visit)?;
    Ok(ReviewScreen::of(&visit, &review, voice))
}

fn sending(handset: &mut Handset, voice: Voice) -> Result<SendingScreen, HandsetError> {
    Ok(SendingScreen::of(&handset.sync_status()?, handset.next_wake_in(), voice))
}
