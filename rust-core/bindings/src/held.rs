//! The handset behind its mutex: one call at a time, and no panic leaves it.

use crate::failure::Failure;
use crate::records::{Beside, Opening};
use crate::voice::Voice;
use handset::acts::Settings;
use handset::surroundings::system::{LocalOffset, surroundings};
use handset::{Handset, HandsetError};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::{Mutex, MutexGuard, PoisonError};
use survey::time::OffsetMinutes;

/// The handset, and what is needed to open it again.
pub(crate) struct Held(Mutex<Inside>);

struct Inside {
    handset: Option<Handset>,
    folder: PathBuf,
    no_backup: PathBuf,
    beside: Beside,
    offset: LocalOffset,
    voice: Voice,
}

impl Held {
    /// Opens the handset.
    pub(crate) fn open(opening: Opening) -> Result<Self, Failure> {
        let offset = OffsetMinutes(opening.offset_minutes);
        let mut inside = Inside {
            handset: None,
            folder: opening.folder.into(),
            no_backup: opening.no_backup_folder.into(),
            beside: opening.beside,
            offset: LocalOffset::default(),
            voice: Voice::of(&opening.language, offset),
        };
        inside.offset.set(offset);
        match caught(|| inside.ready().map(|handset| handset.settings())) {
            Some(opened) => inside.speak_as_set(opened?),
            None => return Err(Failure::Report { text: inside.voice.plain("error.storage") }),
        }
        Ok(Self(Mutex::new(inside)))
    }

    /// Does one act. After a panic the connection and all state are dropped and the journal is opened again.
    pub(crate) fn act<T>(
        &self,
        work: impl FnOnce(&mut Handset, Voice) -> Result<T, HandsetError>,
    ) -> Result<T, Failure> {
        let mut inside = self.inside();
        let voice = inside.voice;
        let done =
            caught(|| inside.ready().and_then(|handset| work(handset, voice).map_err(|e| Failure::of(&e, voice))));
        done.unwrap_or_else(|| {
            inside.handset = None;
            match caught(|| inside.ready().map(drop)) {
                Some(Err(failure)) => Err(failure),
                Some(Ok(())) | None => Err(Failure::started_again(voice)),
            }
        })
    }

    /// Changes the settings and speaks the language that they name, where they name one.
    pub(crate) fn act_and_speak(
        &self,
        change: impl FnOnce(&mut Handset) -> Result<Option<String>, HandsetError>,
    ) -> Result<(), Failure> {
        let named = self.act(|handset, _| change(handset))?;
        if let Some(tag) = named {
            self.speak(&tag);
        }
        Ok(())
    }

    /// Deletes everything and begins anew.
    pub(crate) fn delete_everything(&self) -> Result<(), Failure> {
        let mut inside = self.inside();
        let voice = inside.voice;
        inside.ready()?;
        let Some(handset) = inside.handset.take() else { return Ok(()) };
        let deleted = caught(|| handset.delete_everything().map_err(|error| Failure::of(&error, voice)));
        deleted.unwrap_or_else(|| Err(Failure::started_again(voice)))
    }

    /// Speaks another language from here on.
    pub(crate) fn speak(&self, tag: &str) -> Voice {
        let mut inside = self.inside();
        inside.voice = Voice::of(tag, inside.voice.offset);
        inside.voice
    }

    /// The language that is spoken.
    pub(crate) fn voice(&self) -> Voice {
        self.inside().voice
    }

    /// Local time is so many minutes ahead of UTC from here on.
    pub(crate) fn set_offset(&self, minutes: i16) {
        let mut inside = self.inside();
        inside.offset.set(OffsetMinutes(minutes));
        inside.voice.offset = OffsetMinutes(minutes);
    }

    fn inside(&self) -> MutexGuard<'_, Inside> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Inside {
    /// Speaks the language of the settings, where they name one; settings that cannot be read name none.
    fn speak_as_set(&mut self, settings: Result<Settings, HandsetError>) {
        if let Ok(Settings { language: Some(tag), .. }) = settings {
            self.voice = Voice::of(&tag, self.voice.offset);
        }
    }

    fn ready(&mut self) -> Result<&mut Handset, Failure> {
        let handset = match self.handset.take() {
            Some(handset) => handset,
            None => self.opened().map_err(|error| Failure::of(&error, self.voice))?,
        };
        Ok(self.handset.insert(handset))
    }

    fn opened(&self) -> Result<Handset, HandsetError> {
        let around = surroundings(&self.no_backup, self.offset.clone());
        #[cfg(feature = "trip")]
        let around = crate::trip::settable(around);
        match self.beside {
            Beside::Own => Handset::open(&self.folder, around),
            Beside::Newer => Handset::open_beside(&self.folder, around),
        }
    }
}

/// What came of it; `None` after a panic. What was being changed is dropped by the caller, so nothing half done is seen.
fn caught<T>(work: impl FnOnce() -> T) -> Option<T> {
    catch_unwind(AssertUnwindSafe(work)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn opening(folder: &std::path::Path) -> Opening {
        Opening {
            folder: folder.join("journal").display().to_string(),
            no_backup_folder: folder.join("no-backup").display().to_string(),
            language: "en".into(),
            offset_minutes: -300,
            beside: Beside::Own,
        }
    }

    #[test]
    fn after_a_panic_the_journal_is_open_again_and_keeps_what_was_done() {
        let folder = tempfile::tempdir().unwrap();
        let held = Held::open(opening(folder.path())).unwrap();
        let before = held.act(|handset, _| handset.add_observer("Invented Name")).unwrap();
        let broken = held.act(|_, _| -> Result<(), HandsetError> { panic!("planted by this test") });
        assert!(matches!(broken, Err(Failure::StartedAgain { .. })), "{broken:?}");
        let after = held.act(|handset, _| handset.observers()).unwrap();
        assert!(after.contains_key(&before));
    }

    #[test]
    fn a_language_that_was_set_is_spoken_after_a_restart_and_deleting_begins_anew() {
        let folder = tempfile::tempdir().unwrap();
        let held = Held::open(opening(folder.path())).unwrap();
        held.act(|handset, _| handset.add_observer("Invented Name")).unwrap();
        let french = Settings { language: Some("fr".into()), ..Settings::default() };
        held.act_and_speak(|handset| handset.change_settings(&french).map(|()| french.language.clone())).unwrap();
        assert_eq!(held.voice().plain("phone.sites"), "Sites");
        assert_eq!(held.voice().plain("phone.save"), "Enregistrer");
        drop(held);
        let held = Held::open(opening(folder.path())).unwrap();
        assert_eq!(held.voice().plain("phone.save"), "Enregistrer");
        held.delete_everything().unwrap();
        assert!(held.act(|handset, _| handset.observers()).unwrap().is_empty());
        assert_eq!(held.act(|handset, _| handset.settings()).unwrap(), Settings::default());
    }

    #[test]
    fn a_second_object_is_told_to_use_the_first() {
        let folder = tempfile::tempdir().unwrap();
        let _first = Held::open(opening(folder.path())).unwrap();
        assert!(matches!(Held::open(opening(folder.path())), Err(Failure::UseTheOther { .. })));
    }
}
