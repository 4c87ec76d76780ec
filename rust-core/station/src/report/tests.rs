//! What enters, what stays behind and why, and the shape of what is written.

use super::analysis::{SiteReport, report};
use super::invented::{self, Phone, site_id, visit_id};
use super::season::{Converted, seasons};
use super::{Printed, Wanted, Which, run};
use crate::store::sqlite::SqliteStore;
use messages::Language;
use season::{Counted, Group, Level};
use std::collections::BTreeMap;
use survey::chain::Link;
use survey::check::{Extent, RefusedFor};
use survey::entry::{Act, Scope};
use survey::fold::VisitState;
use survey::ids::SiteId;
use survey::protocol::{PlantChoice, Unit};
use survey::stage::{AnimalState, Stage};
use survey::time::UnixMs;
use survey::visit::{HostsUp, PooledCheck, VisitDescription};

/// 2026-08-01 12:00 UTC.
const MADE: UnixMs = UnixMs(1_785_585_600_000);

fn state(links: &[Link], site: SiteId) -> (survey::fold::SiteState, Vec<VisitState>) {
    let fold = invented::fold(links);
    let visits = fold.visits(site).into_iter().filter_map(|visit| fold.visit(visit)).collect();
    (fold.site(site).unwrap(), visits)
}

fn converted(links: &[Link], site: SiteId) -> Converted {
    let (site, visits) = state(links, site);
    seasons(&site, &visits).unwrap()
}

fn notes(converted: &Converted) -> Vec<&str> {
    converted.notes.iter().map(|note| note.message).collect()
}

/// One visit in the first week at an invented site.
fn visit(act: impl FnOnce(&mut Phone, Scope)) -> Converted {
    let mut phone = Phone::new(5);
    let scope = Scope::Visit(site_id(9), visit_id(9, 0));
    phone.begin(scope, PlantChoice::All);
    act(&mut phone, scope);
    phone.end(scope);
    converted(&phone.links, site_id(9))
}

const ONE_EGG: &[(&str, AnimalState, u32)] = &[("egg", AnimalState::Alive, 1)];

#[test]
fn only_living_animals_on_whole_checks_enter() {
    let converted = visit(|phone, scope| {
        let species = "Asclepias syriaca";
        phone.plant(scope, 1, species, Extent::Whole, ONE_EGG);
        phone.plant(scope, 2, species, Extent::Whole, &[("egg", AnimalState::HatchedShell, 3)]);
        phone.plant(scope, 3, species, Extent::Part, ONE_EGG);
        phone.plant(scope, 4, species, Extent::Refused(RefusedFor::Danger), &[]);
        phone.plant(scope, 5, "not-milkweed", Extent::Whole, ONE_EGG);
        phone.plant(scope, 6, species, Extent::Whole, &[("pupa", AnimalState::Alive, 2)]);
        phone.plant(scope, 7, species, Extent::Whole, &[]);
    });
    let [season] = converted.seasons.as_slice() else { panic!("one season") };
    let sample = &season.samples.visits()[0];
    assert_eq!((season.year, season.unit, sample.checked()), (2026, Unit::Stem, Some(4)));
    assert_eq!(sample.total(Group::Stage(Stage::Egg)), Some(1));
    assert_eq!(sample.total(Group::Stage(Stage::Pupa)), None);
    let expected =
        ["left-out.part", "left-out.refused", "left-out.not-milkweed", "left-out.not-living", "left-out.out-of-scope"];
    assert_eq!(notes(&converted), expected);
    let numbers: Vec<_> = converted.notes.iter().filter_map(|note| note.number).collect();
    assert_eq!(numbers, [1, 1, 1, 3, 2]);
}

#[test]
fn stems_and_clumps_never_meet() {
    let converted = visit(|phone, scope| {
        phone.plant(scope, 1, "Asclepias syriaca", Extent::Whole, ONE_EGG);
        phone.plant(scope, 2, "Asclepias tuberosa", Extent::Whole, ONE_EGG);
        phone.plant(scope, 3, "Asclepias tuberosa", Extent::Whole, ONE_EGG);
    });
    let eggs = |unit| {
        let season = converted.seasons.iter().find(|season| season.unit == unit).unwrap();
        season.samples.visits()[0].total(Group::Stage(Stage::Egg))
    };
    assert_eq!((converted.seasons.len(), eggs(Unit::Stem), eggs(Unit::Clump)), (2, Some(1), Some(2)));
}

#[test]
fn a_mown_patch_is_a_visit_without_a_value() {
    let converted = visit(|phone, scope| {
        let mown = VisitDescription { hosts_up: Some(HostsUp::AllMown), ..VisitDescription::default() };
        phone.act(scope, Act::VisitDescribed(mown));
    });
    assert!(converted.seasons.is_empty());
    assert_eq!(notes(&converted), ["note.hosts-all-mown"]);
    assert_eq!(notes(&visit(|_, _| {})), ["left-out.nothing-checked"]);
}

#[test]
fn pooled_totals_add_up_and_lose_their_effort_where_one_lacks_it() {
    let pooled = |checked: &[Option<u32>]| {
        visit(|phone, scope| {
            for &checked in checked {
                let totals = BTreeMap::from([(Stage::Egg.into(), 3)]);
                phone.act(scope, Act::PooledCheck(PooledCheck { checked, unit: Unit::Stem, totals }));
            }
        })
    };
    let known = pooled(&[Some(10), Some(20)]);
    assert_eq!(known.seasons[0].samples.visits()[0].checked(), Some(30));
    assert_eq!(known.seasons[0].samples.visits()[0].total(Group::Stage(Stage::Egg)), Some(6));
    assert_eq!(notes(&known), ["note.pooled"]);
    let unknown = pooled(&[Some(10), None]);
    assert_eq!(unknown.seasons[0].samples.visits()[0].checked(), None);
    assert_eq!(notes(&unknown), ["note.pooled-effort-unknown"]);
}

#[test]
fn totals_beside_single_plants_stay_behind() {
    let converted = visit(|phone, scope| {
        let totals = BTreeMap::from([(Stage::Egg.into(), 30)]);
        phone.act(scope, Act::PooledCheck(PooledCheck { checked: Some(9), unit: Unit::Stem, totals }));
        phone.plant(scope, 1, "Asclepias syriaca", Extent::Whole, ONE_EGG);
    });
    let sample = &converted.seasons[0].samples.visits()[0];
    assert!(matches!(&sample.counted, Counted::Units(units) if units.len() == 1));
    assert_eq!(notes(&converted), ["left-out.pooled-and-single"]);
}

#[test]
fn disputed_checks_and_open_visits_are_named() {
    let converted = converted(&invented::full(), site_id(3));
    assert!(converted.seasons.is_empty());
    assert_eq!(
        notes(&converted),
        ["note.still-open", "note.observers-choice", "left-out.nothing-checked", "left-out.disputed"]
    );
    assert_eq!(converted.notes[3].number, Some(8));
}

/// 6 eggs on 6 stems: mean 1, s² = (1 + 1 + 0 + 1 + 4 + 1) ÷ 5 = 1.6, standard error √(1.6 ÷ 6) = 0.5164 [computed by hand].
/// Week two: 1 of 6 stems with an egg, exact 95 % interval 0.0042 to 0.6412 (Clopper-Pearson, R `binom.test(1, 6)`, from
/// memory). Week three: none, so at most 1 − 0.05^(1÷6) = 0.3930 of stems.
#[test]
fn a_small_season_is_estimated_as_by_hand() {
    let report = small_report();
    let season = &report.seasons[0];
    let egg = |visit: usize| match &season.visits[visit].cells[0].figure {
        super::analysis::Figure::Value(density) => density.shown.estimate().clone(),
        super::analysis::Figure::Refused(reason) => panic!("{reason}"),
    };
    // No less than by chance alone: √(1 ÷ 6).
    assert!((egg(0).value - 1.0).abs() < 1e-12 && egg(0).standard_error.unwrap() >= (1.0_f64 / 6.0).sqrt() - 1e-9);
    assert_eq!(egg(0).method, season::densities::id::CLUMPED_MEAN);
    assert!((egg(1).value - 1.0 / 6.0).abs() < 1e-12);
    assert!(
        (egg(1).interval.unwrap().low - 0.0042).abs() < 1e-4 && (egg(1).interval.unwrap().high - 0.6412).abs() < 1e-4
    );
    assert!((egg(2).interval.unwrap().high - 0.3930).abs() < 1e-4);
    assert_eq!(season.totals[0].total.value.to_string(), "7");
    assert_eq!(season.totals[0].undecided, 1);
}

#[test]
fn the_json_of_a_small_season() {
    insta::assert_json_snapshot!(small_report());
}

#[test]
fn the_table_of_a_small_season() {
    insta::assert_snapshot!(super::text::text(&small_report(), Language::En));
}

fn small_report() -> SiteReport {
    let (site, visits) = state(&invented::small(), site_id(0x51));
    report(&site, &visits, Level::P95).unwrap()
}

#[test]
fn reports_are_written_and_open_from_a_disk() {
    let folder = tempfile::tempdir().unwrap();
    let store = invented::store(&invented::full(), &folder.path().join("s.sqlite"));
    let out = folder.path().join("report");
    let wanted = Wanted { sites: Which::All, out: Some(out.clone()), printed: Printed::Table, language: Language::Fr };
    let table = run(&store, &wanted, MADE).unwrap();
    assert!(table.contains("Long Meadow (invented), 2026") && table.contains("Compté"), "{table}");
    let page = std::fs::read_to_string(out.join(format!("site-{}.html", site_id(1)))).unwrap();
    assert!(page.contains("<html lang=\"fr-CA\">") && page.contains("<svg") && page.contains("<style>"));
    assert!(!page.contains("href=\"/") && !page.contains("src="), "nothing is fetched");
    let json: serde_json::Value = serde_json::from_slice(&std::fs::read(out.join("report.json")).unwrap()).unwrap();
    assert_eq!(json["sites"].as_array().unwrap().len(), 4);
    assert_eq!(json["made"], "2026-08-01T12:00:00.000Z");
    let map: serde_json::Value = serde_json::from_slice(&std::fs::read(out.join("sites.geojson")).unwrap()).unwrap();
    let points: Vec<_> =
        map["features"].as_array().unwrap().iter().map(|site| &site["geometry"]["coordinates"]).collect();
    assert!(points.contains(&&serde_json::json!([-92.995, 45.015])), "coarsened to 0.01 degree: {points:?}");
    let index = std::fs::read_to_string(out.join("index.html")).unwrap();
    assert!(index.contains("&lt;script&gt;") && !index.contains("<script"));
}

#[test]
fn sites_are_found_by_name_or_by_the_beginning_of_their_id() {
    let folder = tempfile::tempdir().unwrap();
    let store = invented::store(&invented::full(), &folder.path().join("s.sqlite"));
    let ask = |name: &str| {
        let sites = Which::Named(name.into());
        run(&store, &Wanted { sites, out: None, printed: Printed::Json, language: Language::En }, MADE)
    };
    assert!(ask("long meadow (INVENTED)").unwrap().contains("Long Meadow"));
    assert!(ask("0202").unwrap().contains("Quarry road"));
    let error = ask("elsewhere").unwrap_err().to_string();
    assert!(error.contains("0 sites") && error.contains("Old notebook"), "{error}");
}

#[test]
fn an_empty_station_reports_nothing_and_does_not_fail() {
    let folder = tempfile::tempdir().unwrap();
    let store = SqliteStore::open(&folder.path().join("s.sqlite")).unwrap();
    let wanted = Wanted { sites: Which::All, out: None, printed: Printed::Json, language: Language::En };
    assert!(run(&store, &wanted, MADE).unwrap().contains("\"sites\": []"));
}
