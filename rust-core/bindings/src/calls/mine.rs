//! Settings, what is kept of a person, cautions, licences.

use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::{CautionsScreen, HeatScreen, Licence, MineScreen, SettingsChosen, SettingsScreen, licences, read};
use handset::HandsetError;

#[uniffi::export]
impl Leafturn {
    /// The settings, which the core keeps.
    pub fn settings(&self) -> Result<SettingsScreen, Failure> {
        self.held.act(|handset, voice| Ok(SettingsScreen::of(&handset.settings()?, voice)))
    }

    /// Changes the settings; a language that is named is spoken from here on.
    pub fn change_settings(&self, chosen: SettingsChosen) -> Result<SettingsScreen, Failure> {
        self.held.act_and_speak(|handset| {
            let settings = chosen.read()?;
            handset.change_settings(&settings).map(|()| settings.language)
        })?;
        self.held.act(|handset, voice| Ok(SettingsScreen::of(&handset.settings()?, voice)))
    }

    /// What is kept on this phone.
    pub fn my_data(&self) -> Result<MineScreen, Failure> {
        self.held.act(|handset, voice| Ok(MineScreen::of(&handset.mine()?, voice)))
    }

    /// Forgets the name of an observer; the random id in entries stays.
    pub fn forget_observer(&self, observer: String) -> Result<MineScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.forget_observer(read(&observer)?)?;
            Ok(MineScreen::of(&handset.mine()?, voice))
        })
    }

    /// Deletes everything on this phone, also what no station has, and begins anew. The shell forgets its token besides.
    pub fn delete_everything(&self) -> Result<MineScreen, Failure> {
        self.held.delete_everything()?;
        self.held.act(|handset, voice| Ok(MineScreen::of(&handset.mine()?, voice)))
    }

    /// Safety before going out.
    pub fn cautions(&self) -> Result<CautionsScreen, Failure> {
        self.held.act(|handset, voice| Ok(CautionsScreen::of(handset.settings()?.units, voice)))
    }

    /// What an air temperature and a humidity in percent, both as typed, feel like.
    pub fn heat(&self, air: String, humidity: String) -> Result<HeatScreen, Failure> {
        self.held.act(|handset, voice| Ok(HeatScreen::of(&handset.heat(&air, &humidity)?, voice)))
    }

    /// The licences of everything in the library.
    pub fn licences(&self) -> Result<Vec<Licence>, Failure> {
        self.held.act(|_, _| Ok::<_, HandsetError>(licences()))
    }
}
