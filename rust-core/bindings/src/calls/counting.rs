//! Counting on plants.

use super::{counting, on};
use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::{CountingScreen, plant_of, read};
use handset::HandsetError;
use handset::acts::{Count, OpenPlant};
use survey::check::{CheckDescription, Extent, PhotoOf, RefusedFor};
use survey::protocol::Host;
use survey::stage::{AnimalState, What};

#[uniffi::export]
impl Leafturn {
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
}
