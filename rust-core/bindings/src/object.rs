//! The one object that a shell holds.

#![expect(clippy::missing_errors_doc, reason = "every call has the same error, and its kinds are told at `Failure`")]
#![expect(clippy::needless_pass_by_value, reason = "what comes over the boundary is owned by the call")]

use crate::failure::Failure;
use crate::held::Held;
use crate::records::{
    self, Beginning, CountingScreen, Drawing, HttpRequest, Joined, NewSite, Opened, Opening, RequestOutcome,
    ReviewScreen, SendingScreen, SitesScreen, StartScreen, Wanted, plant_of, read,
};
use crate::voice::Voice;
use handset::acts::{Count, OpenPlant, Screen};
use handset::sync::JobId;
use handset::{Handset, HandsetError};
use std::collections::HashMap;
use std::sync::Arc;
use survey::check::{CheckDescription, Extent, PhotoOf, RefusedFor};
use survey::ids::SiteId;
use survey::protocol::Host;
use survey::stage::{AnimalState, What};

/// The phone side of one observer's device. Call it on one thread; each call does one act and returns the record of its
/// screen, complete and with its words. What a call shows is durable when it returns.
#[derive(uniffi::Object)]
pub struct Leafturn {
    pub(crate) held: Held,
}

#[uniffi::export]
impl Leafturn {
    /// Opens the journal, which is made where there is none.
    #[uniffi::constructor]
    pub fn open(opening: Opening) -> Result<Arc<Self>, Failure> {
        Ok(Arc::new(Self { held: Held::open(opening)? }))
    }

    /// What opening came upon, to be said once.
    pub fn opened(&self) -> Result<Opened, Failure> {
        self.held.act(|handset, voice| Ok(opened(handset, voice)))
    }

    /// Fixed words of the screens by id: all of `phone.` and `cautions.` that have nothing to fill in.
    pub fn words(&self) -> Result<HashMap<String, String>, Failure> {
        Ok(fixed(self.held.voice()))
    }

    /// Speaks another language from here on; returns its fixed words.
    pub fn set_language(&self, tag: String) -> Result<HashMap<String, String>, Failure> {
        Ok(fixed(self.held.speak(&tag)))
    }

    /// Local time is so many minutes ahead of UTC from here on.
    pub fn set_offset(&self, minutes: i16) -> Result<(), Failure> {
        self.held.set_offset(minutes);
        Ok(())
    }

    /// The drawing of a stage, as large as fits.
    pub fn drawing(&self, name: String, width: u32, height: u32) -> Result<Drawing, Failure> {
        self.held
            .act(|_, voice| records::specimen(&name, width, height, voice).ok_or_else(|| HandsetError::not_here(&name)))
    }

    /// The list of sites.
    pub fn sites(&self) -> Result<SitesScreen, Failure> {
        self.held.act(sites)
    }

    /// Adds a site.
    pub fn add_site(&self, site: NewSite) -> Result<SitesScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.describe_site(None, records::place_of(&site)?)?;
            sites(handset, voice)
        })
    }

    /// What is asked before a visit to a site.
    pub fn start(&self, site: String) -> Result<StartScreen, Failure> {
        self.held.act(|handset, voice| start(handset, read(&site)?, voice))
    }

    /// Adds an observer by a name of the person's choice, which stays on this phone.
    pub fn add_observer(&self, site: String, name: String) -> Result<StartScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.add_observer(&name)?;
            start(handset, read(&site)?, voice)
        })
    }

    /// Begins a visit and takes it in hand.
    pub fn begin_visit(&self, beginning: Beginning) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let site = read(&beginning.site)?;
            let offered = handset.start(site)?.protocols;
            handset.begin_visit(site, beginning.with(offered)?)?;
            counting(handset, voice)
        })
    }

    /// The visit in hand with its open plant.
    pub fn counting(&self) -> Result<CountingScreen, Failure> {
        self.held.act(counting)
    }

    /// Opens a plant of this host.
    pub fn open_plant(&self, host: String) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let host = Some(Host::from(host));
            let plant = handset.open_plant(OpenPlant { host, ..OpenPlant::default() })?;
            on(handset, Some(plant), voice)
        })
    }

    /// Says that the open plant is of another host.
    pub fn change_host(&self, host: String) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let host = Some(Host::from(host));
            let plant = handset.describe_plant(None, CheckDescription { host, ..CheckDescription::default() })?;
            on(handset, Some(plant), voice)
        })
    }

    /// Counts one living animal of this stage or undecided set on the open plant: a tap.
    pub fn count(&self, what: String) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let plant = handset.count(Count::one(read::<What>(&what)?))?;
            on(handset, Some(plant), voice)
        })
    }

    /// Counts one animal in a state other than alive.
    pub fn count_in_state(&self, what: String, state: String) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let state = AnimalState::named(&state).ok_or_else(|| HandsetError::not_here(&state))?;
            let plant = handset.count(Count { state, ..Count::one(read::<What>(&what)?) })?;
            on(handset, Some(plant), voice)
        })
    }

    /// Takes the last count of this stage or set on the open plant back.
    pub fn uncount(&self, what: String) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let screen = handset.uncount(&read::<What>(&what)?)?;
            on(handset, plant_of(screen), voice)
        })
    }

    /// Closes the open plant as empty and opens the next: one act.
    pub fn empty_plant(&self) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let plant = handset.empty_plant()?;
            on(handset, Some(plant), voice)
        })
    }

    /// Closes the open plant as wholly searched and opens the next of the same host: one act.
    pub fn next_plant(&self) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let plant = handset.next_plant(OpenPlant::default())?;
            on(handset, Some(plant), voice)
        })
    }

    /// Closes the open plant as searched in part only.
    pub fn close_in_part(&self) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.close_plant(Extent::Part)?;
            on(handset, None, voice)
        })
    }

    /// Closes the open plant as not searched, for it was out of reach.
    pub fn close_unsearched(&self) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.close_plant(Extent::Refused(RefusedFor::OutOfReach))?;
            on(handset, None, voice)
        })
    }

    /// Closes the open plant as wholly searched, without opening another.
    pub fn close_plant(&self) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.close_plant(Extent::Whole)?;
            on(handset, None, voice)
        })
    }

    /// Takes the last act of the visit back.
    pub fn take_back(&self) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let screen = handset.take_back()?;
            on(handset, plant_of(screen), voice)
        })
    }

    /// Brings the act taken back last back.
    pub fn redo(&self) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let screen = handset.redo()?;
            on(handset, plant_of(screen), voice)
        })
    }

    /// Keeps the photo that was asked for of a count: a JPEG with its orientation baked in, at most 2,560 pixels a side.
    /// Everything in it that is not needed to draw it is left out.
    pub fn take_photo(&self, count: String, jpeg: Vec<u8>) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.take_photo(None, PhotoOf::Count(read(&count)?), &jpeg)?;
            counting(handset, voice)
        })
    }

    /// The review of the visit in hand.
    pub fn review(&self) -> Result<ReviewScreen, Failure> {
        self.held.act(review)
    }

    /// Ends this phone's part of the visit in hand.
    pub fn end_visit(&self) -> Result<ReviewScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.end_visit()?;
            review(handset, voice)
        })
    }

    /// What was sent, and what waits.
    pub fn sending(&self) -> Result<SendingScreen, Failure> {
        self.held.act(sending)
    }

    /// Begins to join a station by the code of an invitation.
    pub fn join(&self, code: String) -> Result<Joined, Failure> {
        self.held.act(|handset, voice| {
            let token = handset.join(&code)?;
            Ok(Joined { token, screen: sending(handset, voice)? })
        })
    }

    /// A sync is wanted.
    pub fn sync_wanted(&self, wanted: Wanted) -> Result<SendingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.sync_wanted(wanted.asker(), wanted.cost())?;
            sending(handset, voice)
        })
    }

    /// The next request to perform; `None` where there is none at the moment. It was stored before it is returned.
    pub fn next_request(&self) -> Result<Option<HttpRequest>, Failure> {
        self.held.act(|handset, _| Ok(handset.next_job()?.map(HttpRequest::from)))
    }

    /// A request ended. That of an unknown request is passed over.
    pub fn request_done(&self, id: u64, outcome: RequestOutcome) -> Result<SendingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.job_done(JobId(id), outcome.into())?;
            sending(handset, voice)
        })
    }

    /// There is no network.
    pub fn network_lost(&self) -> Result<SendingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.network_lost()?;
            sending(handset, voice)
        })
    }

    /// The time that the last screen named has passed.
    pub fn timer(&self) -> Result<SendingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.timer()?;
            sending(handset, voice)
        })
    }

    /// Writes all of this phone's journals into a file to hand over; returns what to say of it.
    pub fn export_to(&self, path: String) -> Result<String, Failure> {
        self.held.act(|handset, voice| Ok(voice.counted("phone.exported", handset.export_to(path)?.entries)))
    }
}

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
    match handset.screen()? {
        Screen::Plant(plant) => on(handset, Some(plant), voice),
        Screen::Visit(visit) => Ok(CountingScreen::of(&visit, None, voice)),
    }
}

fn on(
    handset: &mut Handset,
    plant: Option<handset::views::PlantView>,
    voice: Voice,
) -> Result<CountingScreen, HandsetError> {
    Ok(CountingScreen::of(&handset.visit()?, plant.as_ref(), voice))
}

fn review(handset: &mut Handset, voice: Voice) -> Result<ReviewScreen, HandsetError> {
    let visit = handset.visit()?;
    let review = handset.review(visit.visit)?;
    Ok(ReviewScreen::of(&visit, &review, voice))
}

fn sending(handset: &mut Handset, voice: Voice) -> Result<SendingScreen, HandsetError> {
    Ok(SendingScreen::of(&handset.sync_status()?, handset.next_wake_in(), voice))
}
