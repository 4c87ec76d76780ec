//! Counts without end and prints the sequence number of each act that has returned: something for a test to kill.
//! The site that it counts at is invented.

use handset::Handset;
use handset::acts::{BeginVisit, Count, OpenPlant};
use handset::surroundings::system::{LocalOffset, surroundings};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::PathBuf;
use survey::ids::ProtocolId;
use survey::protocol::{GoalGroup, PlantChoice, Protocol, SearchRule, StopRule};
use survey::site::SiteDescription;
use survey::stage::Stage;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = PathBuf::from(std::env::args_os().nth(1).ok_or("usage: counter FOLDER")?);
    let around = surroundings(&folder.join("no-backup"), LocalOffset::default());
    let mut phone = Handset::open(folder.join("data"), around)?;
    if let Some(why) = phone.opened().fresh_epoch {
        return Err(format!("a fresh epoch was begun: {why}").into());
    }
    let mut out = std::io::stdout().lock();
    if phone.sites()?.going_on.is_none() {
        begin(&mut phone)?;
    }
    loop {
        for stage in Stage::EGG_TO_LARVA5 {
            phone.count(Count::one(stage))?;
            writeln!(out, "{}", phone.last_seq())?;
            out.flush()?;
        }
        phone.next_plant(OpenPlant::default())?;
        writeln!(out, "{}", phone.last_seq())?;
        out.flush()?;
    }
}

fn begin(phone: &mut Handset) -> Result<(), handset::HandsetError> {
    let description = SiteDescription { name: Some("Invented verge".into()), ..SiteDescription::default() };
    let site = phone.describe_site(None, description)?.site.id;
    let protocol = Protocol {
        id: ProtocolId::from_octets([1; 16]),
        name: "All stems".into(),
        stages: BTreeSet::from(Stage::EGG_TO_LARVA5),
        choice: PlantChoice::All,
        units: BTreeMap::new(),
        search: SearchRule::Whole,
        audit_one_in: 15,
        stop: StopRule { goal: GoalGroup::Eggs, at_least: 1, at_most: 1000 },
    };
    phone.begin_visit(site, BeginVisit { protocol: Some(protocol), ..BeginVisit::default() })?;
    phone.open_plant(OpenPlant::default())?;
    Ok(())
}
