//! Real counts, entered on a phone as an older record, sent to a real station process, and reported.
//!
//! The counts are two weekly series of monarch eggs and larvae on milkweed in Iowa, 2015, published with the analysis
//! of Grant et al. (2020), Ecosphere 11(4):e03082, in the authors' public repository
//! github.com/tgrant7/arthropod-survival-estimation. Totals and trapezoid areas were computed from them with numpy.
//! The source counts days from the first survey; here day 1 stands for 2026-06-06, which changes nothing.

use demo::Trouble;
use demo::link::Wifi;
use demo::scenario::{FIRST_VISIT_MS, Phone};
use end_to_end::{folder, person, station};
use handset::acts::BeginVisit;
use std::collections::BTreeMap;
use survey::ids::ProtocolId;
use survey::protocol::{GoalGroup, Host, PlantChoice, Protocol, SearchRule, StopRule, Unit};
use survey::site::SiteDescription;
use survey::stage::{Stage, What};
use survey::time::UnixMs;
use survey::visit::PooledCheck;

/// Day of the survey, then egg and larva 1 to 5.
type Row = (i64, [u32; 6]);

const A: [Row; 7] = [
    (1, [3, 0, 0, 1, 0, 0]),
    (10, [96, 12, 13, 4, 1, 4]),
    (20, [138, 8, 8, 3, 0, 2]),
    (27, [137, 9, 10, 8, 3, 3]),
    (36, [65, 3, 5, 1, 2, 2]),
    (41, [47, 0, 1, 0, 1, 1]),
    (48, [27, 1, 0, 0, 1, 0]),
];

const B: [Row; 7] = [
    (1, [37, 2, 4, 0, 0, 0]),
    (9, [90, 15, 9, 7, 1, 1]),
    (17, [135, 19, 5, 5, 3, 7]),
    (24, [156, 22, 7, 3, 1, 3]),
    (31, [121, 5, 2, 3, 1, 3]),
    (38, [77, 1, 7, 2, 1, 1]),
    (46, [11, 1, 0, 2, 3, 2]),
];

const DAY_MS: i64 = 24 * 60 * 60 * 1000;

#[test]
fn published_counts_come_out_as_published() -> Result<(), Trouble> {
    let place = folder()?;
    let station = station(place.path())?;
    let mut wifi = Wifi::to(&station.address);
    for (phone, name, series) in [(Phone::Quarry, "A", A), (Phone::Ferry, "B", B)] {
        let mut person = person(place.path(), phone)?;
        let description = SiteDescription { name: Some(name.into()), ..SiteDescription::default() };
        let site = person.handset.describe_site(None, description)?.site.id;
        for (day, numbers) in series {
            person.wait_until(UnixMs(FIRST_VISIT_MS + (day - 1) * DAY_MS));
            let begin = BeginVisit { protocol: Some(protocol()), ..BeginVisit::default() };
            person.handset.begin_visit(site, begin)?;
            let totals = Stage::EGG_TO_LARVA5.into_iter().map(What::Stage).zip(numbers).collect();
            person.handset.pooled_check(PooledCheck { checked: None, unit: Unit::Stem, totals })?;
            person.handset.end_visit()?;
        }
        person.join_and_sync(&station.invite("A phone", &[])?, &mut wifi)?;
    }

    let report = place.path().join("report");
    station.report(&report)?;
    let document: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(report.join("report.json"))?)?;
    for (name, totals, areas) in [
        ("A", [513.0, 33.0, 37.0, 17.0, 8.0, 12.0], [4026.0, 278.5, 312.5, 139.0, 57.0, 99.0]),
        ("B", [627.0, 65.0, 34.0, 22.0, 10.0, 17.0], [4441.0, 471.0, 241.0, 158.5, 64.0, 118.0]),
    ] {
        let site = document["sites"].as_array().and_then(|sites| sites.iter().find(|site| site["name"] == name));
        let season = &site.expect("the site is reported")["seasons"][0];
        assert_eq!(
            season["heading"], "heading.sample-totals-effort-unknown",
            "{name}: nobody said how many plants were checked"
        );
        for (at, stage) in Stage::EGG_TO_LARVA5.into_iter().enumerate() {
            let total = &row(&season["totals"], stage)["total"]["value"];
            assert_eq!(total.as_f64(), Some(totals[at]), "{name}: total of {stage}");
            let area = &row(&season["areas_of_totals"], stage)["value"]["value"];
            assert_eq!(area.as_f64(), Some(areas[at]), "{name}: area of {stage}");
            let mean = row(&season["areas_of_means"], stage);
            assert!(mean.get("value").is_none(), "{name}: no mean per plant without a number of plants");
        }
    }
    Ok(())
}

fn row(rows: &serde_json::Value, stage: Stage) -> &serde_json::Value {
    let found = rows.as_array().and_then(|rows| rows.iter().find(|row| row["stage"] == stage.name()));
    found.unwrap_or(&serde_json::Value::Null)
}

fn protocol() -> Protocol {
    Protocol {
        id: ProtocolId::from_octets([1; 16]),
        name: "older records".into(),
        stages: Stage::EGG_TO_LARVA5.into_iter().collect(),
        choice: PlantChoice::ObserversChoice,
        units: BTreeMap::from([(Host::NotDetermined, Unit::Stem)]),
        search: SearchRule::Whole,
        audit_one_in: 0,
        stop: StopRule { goal: GoalGroup::Immatures, at_least: 1, at_most: 1000 },
    }
}
