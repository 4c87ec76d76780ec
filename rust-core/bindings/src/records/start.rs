//! Before a visit.

use super::read;
use crate::voice::Voice;
use handset::HandsetError;
use handset::acts::BeginVisit;
use handset::views::StartView;
use survey::ids::ObserverId;
use survey::protocol::{PlantChoice, Protocol};
use survey::stage::What;
use survey::visit::Share;

/// What is asked before a visit begins, with what the last visit had chosen already.
#[derive(Debug, Clone, uniffi::Record)]
pub struct StartScreen {
    /// Title.
    pub title: String,
    /// The site.
    pub site: String,
    /// Its name.
    pub name: String,
    /// Observers known to this phone.
    pub observers: Vec<ObserverChoice>,
    /// Ways to choose plants; the first is the one to offer.
    pub protocols: Vec<ProtocolChoice>,
}

/// An observer.
#[derive(Debug, Clone, uniffi::Record)]
pub struct ObserverChoice {
    /// Random id.
    pub observer: String,
    /// The name, kept on this phone alone.
    pub name: String,
    /// Whether the last visit had this observer.
    pub chosen: bool,
}

/// A way to choose plants.
#[derive(Debug, Clone, uniffi::Record)]
pub struct ProtocolChoice {
    /// Its id.
    pub protocol: String,
    /// What it is called.
    pub name: String,
    /// What one does, and the two lines of the protocol.
    pub lines: Vec<String>,
}

/// How a visit begins.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Beginning {
    /// The site.
    pub site: String,
    /// The protocol, by the id that the screen showed.
    pub protocol: String,
    /// Who searches; empty takes those of the last visit.
    pub observers: Vec<String>,
    /// Which plants this phone takes.
    pub share: ShareOfPlants,
    /// The visit code of another phone, or empty.
    pub beside: String,
}

/// Which plants a phone takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Enum)]
pub enum ShareOfPlants {
    /// All.
    All,
    /// 1, 3, 5.
    Odd,
    /// 2, 4, 6.
    Even,
}

impl StartScreen {
    pub(crate) fn of(view: &StartView, voice: Voice) -> Self {
        let observers = view.observers.iter().map(|(id, name)| ObserverChoice {
            observer: id.to_string(),
            name: name.clone(),
            chosen: view.carried_observers.contains(id),
        });
        let carried = usize::from(view.carried_protocol);
        let protocols = view.protocols.iter().enumerate().map(|(at, protocol)| choice(protocol, at < carried, voice));
        Self {
            title: voice.plain("phone.start"),
            site: view.site.to_string(),
            name: view.name.clone().unwrap_or_else(|| voice.plain("sites.unnamed")),
            observers: observers.collect(),
            protocols: protocols.collect(),
        }
    }
}

impl From<ShareOfPlants> for Share {
    fn from(share: ShareOfPlants) -> Self {
        match share {
            ShareOfPlants::All => Self::All,
            ShareOfPlants::Odd => Self::Odd,
            ShareOfPlants::Even => Self::Even,
        }
    }
}

impl Beginning {
    /// With the protocol among those that were offered.
    pub(crate) fn with(&self, offered: Vec<Protocol>) -> Result<BeginVisit, HandsetError> {
        let protocol = offered.into_iter().find(|protocol| protocol.id.to_string() == self.protocol);
        let observers = self.observers.iter().map(|id| read::<ObserverId>(id)).collect::<Result<_, _>>()?;
        let beside = Some(self.beside.trim()).filter(|code| !code.is_empty()).map(read).transpose()?;
        Ok(BeginVisit { protocol, observers, share: self.share.into(), beside })
    }
}

fn choice(protocol: &Protocol, carried: bool, voice: Voice) -> ProtocolChoice {
    let name = messages::words::choice(voice.language, protocol.choice);
    let does = match protocol.choice {
        PlantChoice::EveryKth { k: 0 | 1, .. } => Some(voice.plain("phone.every-stem")),
        PlantChoice::EveryKth { k, .. } => Some(voice.counted("phone.every-kth", u64::from(k - 1))),
        PlantChoice::All => Some(voice.plain("phone.all-plants")),
        PlantChoice::ObserversChoice => Some(voice.plain("phone.own-choice")),
        PlantChoice::Clusters { .. } | PlantChoice::Tagged => None,
    };
    let stages: Vec<String> = protocol.stages.iter().map(|&stage| voice.what(&What::Stage(stage))).collect();
    let looked_for = voice.say("phone.protocol-stages", &[("stages", stages.join(", ").into())]);
    let stop = voice.say(
        "phone.protocol-stop",
        &[("least", protocol.stop.at_least.into()), ("most", protocol.stop.at_most.into())],
    );
    let carried = carried.then(|| voice.plain("phone.carried"));
    let name = carried.map_or_else(|| name.clone(), |mark| format!("{name} ({mark})"));
    ProtocolChoice {
        protocol: protocol.id.to_string(),
        name,
        lines: does.into_iter().chain([looked_for, stop]).collect(),
    }
}
