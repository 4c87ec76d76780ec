//! Counting on a plant: the screen that matters most.

use super::Label;
use crate::voice::Voice;
use handset::acts::Screen;
use handset::views::{Message, PlantView, Tile as Counter, VisitAround};
use messages::words;
use survey::protocol::Host;
use survey::stage::{AnimalState, Stage, What};

/// The screen of a visit that goes on, with its open plant where there is one.
#[derive(Debug, Clone, uniffi::Record)]
pub struct CountingScreen {
    /// The visit; also the code for a second phone.
    pub visit: String,
    /// Its site.
    pub site: String,
    /// "Plant 3", or the question which plant is next.
    pub title: String,
    /// Species and unit.
    pub subtitle: String,
    /// How many plants are done, and how many are wanted.
    pub progress: String,
    /// Whether a plant is open: without one the hosts are offered and nothing can be counted.
    pub open: bool,
    /// Hosts to choose from for the next plant, or for this one where it is another.
    pub hosts: Vec<HostChoice>,
    /// One tile for each stage in scope, in the order of development.
    pub tiles: Vec<Tile>,
    /// Undecided sets, {egg, not an egg} first.
    pub undecided: Vec<Tile>,
    /// Counted though not in scope.
    pub outside_scope: Vec<Tile>,
    /// What was noted on the plant as something else, in words, or empty.
    pub others: String,
    /// States an animal may be in, for each stage in scope.
    pub states: Vec<StateChoice>,
    /// "Empty", where it may be pressed.
    pub empty: Option<Label>,
    /// "Next plant", where a plant is open.
    pub next: Option<Label>,
    /// Undo with what it would undo; `None` where there is nothing.
    pub take_back: Option<Label>,
    /// Redo with what it would bring back.
    pub redo: Option<Label>,
    /// A photo that is asked for.
    pub photo_asked: Option<PhotoAsked>,
    /// Whether this phone's part of the visit has ended.
    pub ended: bool,
    /// The code of this visit, for a second phone.
    pub code: String,
}

/// A counter: the whole of it counts one when it is tapped.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
pub struct Tile {
    /// What it counts, for `count`.
    pub what: String,
    /// The drawing for it, for `drawing`; empty for undecided sets.
    pub drawing: String,
    /// Its label.
    pub label: String,
    /// Living animals.
    pub number: u64,
    /// The number as people write it.
    pub value: String,
    /// Animals in other states, in words, or empty.
    pub others: String,
    /// What is spoken after it was tapped.
    pub announcement: String,
}

/// A host plant to choose.
#[derive(Debug, Clone, uniffi::Record)]
pub struct HostChoice {
    /// For `open_plant` and `change_host`.
    pub host: String,
    /// Its name.
    pub label: String,
}

/// A stage in a state, for `count_in_state`.
#[derive(Debug, Clone, uniffi::Record)]
pub struct StateChoice {
    /// The stage.
    pub what: String,
    /// The state.
    pub state: String,
    /// Both in words.
    pub label: String,
}

/// A photo that is asked for, by chance.
#[derive(Debug, Clone, uniffi::Record)]
pub struct PhotoAsked {
    /// The count.
    pub count: String,
    /// The request in words.
    pub text: String,
}

impl CountingScreen {
    /// From the visit in hand and its open plant.
    pub(crate) fn of(visit: &VisitAround<'_>, plant: Option<&PlantView>, voice: Voice) -> Self {
        let protocol_hosts = visit.protocol.iter().flat_map(|protocol| protocol.units.keys());
        let take_back = plant.map_or(&visit.take_back, |plant| &plant.take_back);
        let redo = plant.map_or(&visit.redo, |plant| &plant.redo);
        let tiles = |counters: &[Counter]| counters.iter().map(|counter| tile(counter, voice)).collect();
        Self {
            visit: visit.visit.to_string(),
            site: visit.site.to_string(),
            title: title(visit, plant, voice),
            subtitle: plant.map_or_else(String::new, |plant| subtitle(plant, voice)),
            progress: progress(visit, voice),
            open: plant.is_some(),
            hosts: protocol_hosts.map(|host| host_choice(host, voice)).collect(),
            tiles: plant.map_or_else(Vec::new, |plant| tiles(&plant.stages)),
            undecided: plant.map_or_else(Vec::new, |plant| tiles(&plant.undecided)),
            outside_scope: plant.map_or_else(Vec::new, |plant| tiles(&plant.outside_scope)),
            others: plant
                .filter(|plant| plant.others > 0)
                .map_or_else(String::new, |plant| voice.counted("phone.others", plant.others.into())),
            states: plant.map_or_else(Vec::new, |plant| states(plant, voice)),
            empty: plant.filter(|plant| plant.may_be_empty).map(|_| pair("phone.empty", "phone.empty-spoken", voice)),
            next: plant.map(|_| pair("phone.next", "phone.next-spoken", voice)),
            take_back: take_back.as_ref().map(|act| acted("act.take-back", act, voice)),
            redo: redo.as_ref().map(|act| acted("act.redo", act, voice)),
            photo_asked: visit.photo_asked.as_ref().map(|(count, of)| PhotoAsked {
                count: count.to_string(),
                text: voice.say("phone.photo-asked", &[("what", voice.message(of).into())]),
            }),
            ended: visit.own_part_ended.is_some(),
            code: voice.say("phone.code-of-visit", &[("code", visit.visit.to_string().into())]),
        }
    }
}

/// The open plant of a screen, where it has one.
pub(crate) fn plant_of(screen: Screen) -> Option<PlantView> {
    match screen {
        Screen::Plant(plant) => Some(plant),
        Screen::Visit(_) => None,
    }
}

/// Undo or redo, with what it concerns.
pub(crate) fn acted(id: &str, act: &Message, voice: Voice) -> Label {
    Label::plain(voice.say(id, &[("act", voice.message(act).into())]))
}

fn title(visit: &VisitAround<'_>, plant: Option<&PlantView>, voice: Voice) -> String {
    match plant {
        Some(plant) => voice.counted("phone.plant", plant.number.into()),
        None if visit.own_part_ended.is_some() => voice.plain("phone.ended"),
        None => voice.plain("phone.which-host"),
    }
}

fn subtitle(plant: &PlantView, voice: Voice) -> String {
    let host = words::host(voice.language, plant.host.as_ref());
    format!("{host}, {}", words::unit(voice.language, plant.unit))
}

fn progress(visit: &VisitAround<'_>, voice: Voice) -> String {
    let Some(protocol) = &visit.protocol else { return String::new() };
    let (least, most) = (protocol.stop.at_least, protocol.stop.at_most);
    let id = if visit.whole_plants < least { "phone.progress" } else { "phone.enough" };
    voice.say(id, &[("done", visit.whole_plants.into()), ("least", least.into()), ("most", most.into())])
}

fn tile(counter: &Counter, voice: Voice) -> Tile {
    let label = voice.what(&counter.what);
    let value = messages::integer(voice.language, counter.living);
    let others = counter.by_state.iter().filter(|row| row.state != AnimalState::Alive);
    let others: Vec<String> =
        others.map(|row| format!("{} {}", row.number, words::state(voice.language, row.state))).collect();
    let drawing = match &counter.what {
        What::Stage(Stage::Larva) => Stage::Larva3.name(),
        What::Stage(stage) => stage.name(),
        What::Undecided(_) => "",
    };
    Tile {
        what: counter.what.to_string(),
        drawing: drawing.into(),
        number: counter.living,
        others: others.join(", "),
        announcement: voice.say("phone.counted-spoken", &[("what", (&label).into()), ("number", (&value).into())]),
        label,
        value,
    }
}

fn states(plant: &PlantView, voice: Voice) -> Vec<StateChoice> {
    let stages = plant.stages.iter().filter_map(|tile| match &tile.what {
        What::Stage(stage) => Some(*stage),
        What::Undecided(_) => None,
    });
    let choices = stages.flat_map(|stage| AnimalState::of(stage).iter().map(move |&state| (stage, state)));
    choices
        .map(|(stage, state)| StateChoice {
            what: stage.name().into(),
            state: state.name().into(),
            label: voice.say(
                "phone.state-of",
                &[("what", voice.what(&stage.into()).into()), ("state", words::state(voice.language, state).into())],
            ),
        })
        .collect()
}

fn host_choice(host: &Host, voice: Voice) -> HostChoice {
    HostChoice { host: host.name().into(), label: words::host(voice.language, Some(host)) }
}

fn pair(text: &str, spoken: &str, voice: Voice) -> Label {
    Label { text: voice.plain(text), spoken: voice.plain(spoken) }
}
