//! Every page, with data and without, in every language: well formed, complete, and deaf to what names say.

use super::frame::{Asked, Frame, Who};
use super::{devices, plain, review, season, sites, visit};
use crate::report::analysis::report;
use crate::report::invented::{self, site_id, visit_id};
use crate::report::load::{Loaded, fold_of_group, load, load_all};
use crate::store::coordinators::Role;
use crate::store::journal::JournalStore;
use crate::store::sqlite::SqliteStore;
use crate::store::{AccessStore, BlobStore as _};
use ::season::Level;
use messages::Language;
use std::collections::BTreeSet;
use sync::wire::problem::{Problem, ProblemType};

fn frame(language: Language) -> Frame {
    let who = Who { name: "Ada <b>&\"quoted\"".into(), form_token: "token".into() };
    Frame { language, asked: Asked::ByAddress, path: "/".into(), who: Some(who) }
}

/// All pages of a store, by name.
fn all(store: &SqliteStore, language: Language) -> Vec<(String, String)> {
    let frame = frame(language);
    let stranger = Frame { who: None, ..frame.clone() };
    let loaded = load_all(store).unwrap();
    let mut pages = vec![
        (
            "sites".into(),
            sites::page(&frame, loaded.iter().map(|own| sites::line(own).with_photos_to_come(2)).collect()),
        ),
        ("devices".into(), devices::page(&frame, &store.devices().unwrap(), &store.streams().unwrap())),
        ("cautions".into(), plain::cautions(&frame)),
        ("sign-in".into(), plain::sign_in(&stranger, &plain::SignIn::NoLink)),
        ("sign-in-wrong".into(), plain::sign_in(&stranger, &plain::SignIn::Wrong)),
        ("sign-in-link".into(), plain::sign_in(&stranger, &plain::SignIn::Link)),
        ("signed-out".into(), plain::signed_out(&stranger)),
        ("error".into(), plain::error(&frame, &Problem::new(ProblemType::Internal))),
    ];
    for (number, own) in loaded.iter().enumerate() {
        pages.push((format!("season-{number}"), season_page(&frame, own)));
        for state in &own.visits {
            let name = format!("visit-{number}-{}", state.id);
            pages.push((name, visit_page(&frame, store, own, state)));
            for check in state.checks.iter().take(3) {
                let fold = fold_of_group(store, own.site.id).unwrap();
                let counts = fold.counts(check.id);
                let same_number =
                    state.checks.iter().filter(|other| other.number == check.number).map(|other| other.id);
                let plant = review::Plant {
                    site: &own.site,
                    visit: state,
                    check,
                    counts: &counts,
                    same_number: &same_number.collect(),
                    compared: None,
                    role: Role::Administer,
                    station: survey::ids::DeviceId::from_octets([0x99; 16]),
                };
                pages.push((format!("plant-{number}-{}", check.id), review::page(&frame, &plant)));
            }
        }
    }
    pages.into_iter().map(|(name, page)| (name, page.into_string())).collect()
}

fn visit_page(frame: &Frame, store: &SqliteStore, own: &Loaded, state: &survey::fold::VisitState) -> maud::Markup {
    let fold = fold_of_group(store, own.site.id).unwrap();
    let counts = state.checks.iter().map(|check| (check.id, fold.counts(check.id))).collect();
    let words = visit::NoteText::Words("<b>gate</b> & \"fence\"".into());
    let notes = [(survey::chain::Hash([1; 32]), words), (survey::chain::Hash([2; 32]), visit::NoteText::Erased)];
    let beside = visit::Beside { between: &[], counts: &counts, notes: &notes, role: Role::Administer };
    visit::page(frame, &own.site, state, &beside)
}

fn season_page(frame: &Frame, loaded: &Loaded) -> maud::Markup {
    let report = report(&loaded.site, &loaded.verified, Level::P95).unwrap().with_unverified(loaded.unverified);
    season::page(frame, &report, loaded)
}

fn invented_store(folder: &tempfile::TempDir) -> SqliteStore {
    invented::store(&invented::full(), &folder.path().join("s.sqlite"))
}

#[test]
fn every_page_is_well_formed_in_every_language() {
    let folder = tempfile::tempdir().unwrap();
    let store = invented_store(&folder);
    for language in Language::ALL {
        let pages = all(&store, language);
        assert!(pages.len() > 25);
        for (name, page) in pages {
            well_formed(&page).unwrap_or_else(|problem| panic!("{name} in {language:?}: {problem}"));
            assert!(page.contains(&format!("<html lang=\"{}\">", language.tag())), "{name}");
            assert!(!page.contains(" style=") && !page.contains("<script"), "{name} in {language:?}");
            assert!(page.matches("<h1").count() == 1 && page.contains("<main "), "{name}");
            let ids: Vec<&str> = page.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
            assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "{name}: an id stands twice");
            for (label, table) in page.split("<table").skip(1).map(|table| (table.contains("<caption>"), table)) {
                assert!(label && table.contains("scope=\"col\"") && table.contains("scope=\"row\""), "{name}");
            }
        }
    }
}

/// What a message id looks like, left over in a page because the catalogue lacks it.
#[test]
fn no_page_shows_an_id_instead_of_words() {
    let folder = tempfile::tempdir().unwrap();
    let store = invented_store(&folder);
    let groups: BTreeSet<&str> = messages::ids().filter_map(|id| id.split('.').next()).collect();
    for (name, page) in all(&store, Language::En) {
        let text =
            page.split('<').filter_map(|part| part.split_once('>')).map(|(_, text)| text).collect::<Vec<_>>().join(" ");
        let left = text.split_whitespace().find(|word| {
            word.split_once('.')
                .is_some_and(|(group, rest)| groups.contains(group) && rest.starts_with(char::is_alphabetic))
        });
        assert_eq!(left, None, "{name}");
        assert!(!page.contains("{number}") && !page.contains("{date}") && !page.contains("{site}"), "{name}");
    }
}

#[test]
fn names_stay_words_whatever_they_say() {
    let folder = tempfile::tempdir().unwrap();
    let store = invented_store(&folder);
    for (name, page) in all(&store, Language::Es) {
        assert!(!page.contains("<script"), "{name}");
        assert!(!page.contains("Ada <b>"), "{name}");
    }
    let overview = &all(&store, Language::En)[0].1;
    assert!(
        overview.contains("<bdi>&lt;script&gt;alert('é')&lt;/script&gt; &quot;quoted&quot; &amp; שדה הפרפרים</bdi>")
    );
}

#[test]
fn an_empty_station_has_its_pages() {
    let folder = tempfile::tempdir().unwrap();
    let store = SqliteStore::open(&folder.path().join("s.sqlite")).unwrap();
    let pages = all(&store, Language::En);
    assert!(pages[0].1.contains("leafturn invite") && pages[1].1.contains("No phone has joined"));
    for (name, page) in pages {
        well_formed(&page).unwrap_or_else(|problem| panic!("{name}: {problem}"));
    }
    let only_described: Vec<_> = invented::small().into_iter().take(1).collect();
    invented::fill(&store, &only_described);
    let loaded = load(&store, site_id(0x51)).unwrap().unwrap();
    assert!(season_page(&frame(Language::En), &loaded).into_string().contains("Nobody has visited this site yet."));
    assert!(store.photos(site_id(0x51)).unwrap().is_empty());
}

#[test]
fn findings_lead_to_their_plants() {
    let folder = tempfile::tempdir().unwrap();
    let store = invented_store(&folder);
    let loaded = load(&store, site_id(1)).unwrap().unwrap();
    let state = loaded.visits.iter().find(|visit| visit.id == visit_id(1, 4)).unwrap();
    let page = visit_page(&frame(Language::En), &store, &loaded, state).into_string();
    let links: Vec<&str> = page.split("href=\"#plant-").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    assert!(!links.is_empty());
    for link in links {
        assert!(page.contains(&format!("id=\"plant-{link}\"")), "{link}");
    }
    assert!(page.contains("60 × “egg” on one plant is a lot"));
}

#[test]
fn links_keep_the_language_that_was_asked_for() {
    let asked = frame(Language::Fr);
    assert_eq!(asked.link("/sites/x#findings"), "/sites/x?language=fr#findings");
    assert_eq!(Frame { asked: Asked::ByBrowser, ..asked }.link("/devices"), "/devices");
}

/// Text on its ground in both colour schemes: 7 or more (W3C, Web Content Accessibility Guidelines 2.2, criterion 1.4.6).
#[test]
fn text_keeps_its_contrast_in_both_schemes() {
    let schemes: Vec<&str> = super::frame::STYLE.split("--paper: ").skip(1).take(2).collect();
    assert_eq!(schemes.len(), 2);
    for scheme in schemes {
        let paper = &scheme[..7];
        let colour = |name: &str| scheme.split_once(&format!("--{name}: ")).map(|(_, rest)| &rest[..7]).unwrap();
        for name in ["ink", "soft", "link", "mark"] {
            for ground in [paper, colour("tint")] {
                assert!(
                    contrast(colour(name), ground) >= 7.0,
                    "{name} on {ground}: {}",
                    contrast(colour(name), ground)
                );
            }
        }
        assert!(contrast(colour("rule"), paper) >= 3.0);
    }
}

fn contrast(one: &str, other: &str) -> f64 {
    let luminance = |colour: &str| {
        let channel = |at: usize| {
            let share = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    };
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// Elements open and close in order; attributes are quoted and stand once.
fn well_formed(page: &str) -> Result<(), String> {
    const VOID: [&str; 5] = ["meta", "link", "br", "input", "hr"];
    let mut open: Vec<&str> = Vec::new();
    let mut rest = page.strip_prefix("<!DOCTYPE html>").ok_or("no doctype")?;
    while let Some((text, after)) = rest.split_once('<') {
        if text.contains('>') && !open.contains(&"style") {
            return Err(format!("a bare > in {text:?}"));
        }
        let (tag, behind) = after.split_once('>').ok_or("a tag without an end")?;
        rest = behind;
        if let Some(name) = tag.strip_prefix('/') {
            if open.pop() != Some(name) {
                return Err(format!("</{name}> closes nothing"));
            }
            continue;
        }
        let (name, attributes) = tag.split_once(' ').unwrap_or((tag, ""));
        if attributes.matches('"').count() % 2 != 0 {
            return Err(format!("quotes of <{tag}>"));
        }
        let names: Vec<&str> =
            attributes.split('"').step_by(2).filter_map(|part| part.trim().strip_suffix('=')).collect();
        if names.iter().collect::<BTreeSet<_>>().len() != names.len() {
            return Err(format!("an attribute twice in <{tag}>"));
        }
        if !VOID.contains(&name) && !tag.ends_with('/') {
            open.push(name.trim_end_matches('/'));
        }
    }
    if open.is_empty() { Ok(()) } else { Err(format!("left open: {open:?}")) }
}

#[test]
fn below_a_season_stand_what_to_expect_once_and_the_passage_with_its_caveats() {
    let folder = tempfile::tempdir().unwrap();
    let store = invented::store(&invented::full(), &folder.path().join("station.sqlite"));
    for language in Language::ALL {
        let page = season_page(&frame(language), &load_all(&store).unwrap()[0]).into_string();
        let words = |id: &str| messages::say(language, id, &[]);
        let often = |id: &str| page.matches(&format!("<h3>{}</h3>", words(id))).count();
        assert_eq!(often("season.clock-title"), 1, "below the latest season alone");
        assert!(often("season.passage-title") >= 1);
        assert_eq!(often("season.survival-title"), 1, "below the latest season alone");
        assert!(page.contains(&words("season.passage-survival")));
        for raw in [">season.", ">assumed.", ">refused.", ">method."] {
            assert!(!page.contains(raw), "an id of a message stands on the page: {raw}");
        }
    }
}
