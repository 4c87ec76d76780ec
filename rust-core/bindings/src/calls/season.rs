//! The season of a site, and advice.

use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::{
    AdviceScreen, ClosingScreen, Drawing, EffortScreen, SeasonDrawing, SeasonScreen, chart_words, read,
};

#[uniffi::export]
impl Leafturn {
    /// A site's season from the visits on this phone, with what to expect and when to come again.
    pub fn season(&self, site: String) -> Result<SeasonScreen, Failure> {
        self.held.act(|handset, voice| Ok(SeasonScreen::of(&handset.season(read(&site)?)?, voice)))
    }

    /// A drawing of a season, as the screen names it, 240 units wide or more.
    pub fn season_drawing(&self, site: String, drawing: SeasonDrawing, width: u32) -> Result<Drawing, Failure> {
        self.held.act(|handset, voice| {
            let (season, chart) = drawing.read()?;
            Ok(handset.season_drawing(read(&site)?, season, chart, (width, &chart_words(voice)))?.into())
        })
    }

    /// How many plants more in the visit in hand, and which.
    pub fn advice(&self) -> Result<AdviceScreen, Failure> {
        self.held.act(|handset, voice| Ok(AdviceScreen::of(&handset.how_many()?, &handset.which_plants()?, voice)))
    }

    /// What an effort can tell of the next visit to a site.
    pub fn effort(&self, site: String) -> Result<EffortScreen, Failure> {
        self.held.act(|handset, voice| Ok(EffortScreen::of(&handset.effort(read(&site)?)?, voice)))
    }

    /// The three lines after a visit.
    pub fn closing(&self) -> Result<ClosingScreen, Failure> {
        self.held.act(|handset, voice| Ok(ClosingScreen::of(&handset.closing()?, voice)))
    }
}
