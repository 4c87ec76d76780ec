//! `leafturn report`

use super::analysis::{SiteReport, report};
use super::load::{Loaded, load_all};
use super::{figures, geo, html, text};
use crate::store::{Store, StoreError};
use messages::{Language, say};
use season::{Level, Refusal};
use serde::Serialize;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use survey::time::UnixMs;

/// Version of the shape of the JSON.
pub const JSON_VERSION: u32 = 1;

/// What is to be reported.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted {
    /// Which sites.
    pub sites: Which,
    /// Where files go; none are written without it.
    pub out: Option<PathBuf>,
    /// What is printed.
    pub printed: Printed,
    /// Language of table and HTML.
    pub language: Language,
}

/// Which sites.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Which {
    /// All.
    All,
    /// The one of this name, in any case, or of this id or the beginning of it.
    Named(String),
}

/// What is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Printed {
    /// Tables for people.
    Table,
    /// JSON for scripts.
    Json,
}

/// Why there is no report.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// The store cannot.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// No such site, or several.
    #[error("{found} sites are called {wanted:?}; give one name or id: {names}")]
    Site {
        /// What was asked for.
        wanted: String,
        /// How many there are.
        found: usize,
        /// The names there are.
        names: String,
    },
    /// The counts of a site contradict each other.
    #[error("site {site}: {refusal}")]
    Refused {
        /// Which site.
        site: String,
        /// Why.
        refusal: Refusal,
    },
    /// A file cannot be written.
    #[error("{path}: {error}")]
    File {
        /// Which.
        path: String,
        /// What the system says.
        error: io::Error,
    },
    /// Not to be had as JSON: a number that is none.
    #[error("the report cannot be written as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

/// Everything in the JSON.
#[derive(Debug, Serialize)]
struct Document<'a> {
    leafturn_report: u32,
    made: Option<String>,
    sites: Vec<&'a SiteReport>,
}

/// Reports on sites: gives what is to be printed, and writes HTML, JSON and GeoJSON where a folder is given. `made` is
/// the time that stands in the files.
///
/// # Errors
/// See [`ReportError`].
pub fn run(store: &dyn Store, wanted: &Wanted, made: UnixMs) -> Result<String, ReportError> {
    let loaded = pick(load_all(store)?, &wanted.sites)?;
    let sites: Vec<(Loaded, SiteReport)> = loaded
        .into_iter()
        .map(|loaded| {
            let refused = |refusal| ReportError::Refused { site: loaded.site.id.to_string(), refusal };
            let report = report(&loaded.site, &loaded.verified, Level::P95).map_err(refused)?;
            let report = report.with_unverified(loaded.unverified);
            Ok((loaded, report))
        })
        .collect::<Result<_, ReportError>>()?;
    let document = Document {
        leafturn_report: JSON_VERSION,
        made: made.rfc3339(),
        sites: sites.iter().map(|(_, report)| report).collect(),
    };
    let json = serde_json::to_string_pretty(&document)? + "\n";
    let written = match &wanted.out {
        Some(out) => write_all(out, &sites, &json, wanted.language, made)?,
        None => Vec::new(),
    };
    Ok(match wanted.printed {
        Printed::Json => json,
        Printed::Table => {
            let tables = sites.iter().map(|(_, report)| text::text(report, wanted.language));
            let files = written.iter().map(|path| {
                say(wanted.language, "report.written", &[("path", path.display().to_string().into())]) + "\n"
            });
            tables.chain([files.collect()]).filter(|part| !part.is_empty()).collect::<Vec<_>>().join("\n")
        }
    })
}

fn pick(loaded: Vec<Loaded>, which: &Which) -> Result<Vec<Loaded>, ReportError> {
    let Which::Named(wanted) = which else {
        return Ok(loaded);
    };
    let names = loaded.iter().map(label).collect::<Vec<_>>().join(", ");
    let lower = wanted.to_lowercase();
    let fits = |own: &Loaded| {
        own.site.name.as_ref().is_some_and(|name| name.to_lowercase() == lower)
            || own.site.members.iter().any(|id| lower.len() >= 4 && id.to_string().starts_with(&lower))
    };
    let picked: Vec<Loaded> = loaded.into_iter().filter(fits).collect();
    if picked.len() == 1 {
        return Ok(picked);
    }
    Err(ReportError::Site { wanted: wanted.clone(), found: picked.len(), names })
}

fn label(loaded: &Loaded) -> String {
    // The names go to a terminal, and phones wrote them.
    loaded.site.name.as_deref().map_or_else(|| loaded.site.id.to_string(), text::plain)
}

fn write_all(
    out: &Path,
    sites: &[(Loaded, SiteReport)],
    json: &str,
    language: Language,
    made: UnixMs,
) -> Result<Vec<PathBuf>, ReportError> {
    fs::create_dir_all(out).map_err(|error| ReportError::File { path: out.display().to_string(), error })?;
    let mut files = vec![("report.json".to_owned(), json.to_owned()), ("sites.geojson".to_owned(), geo::sites(sites))];
    let mut list = Vec::new();
    for (loaded, report) in sites {
        let file = format!("site-{}.html", report.site);
        list.push((file.clone(), text::name(report, language)));
        files.push((file, html::page(report, loaded, language, made)));
        files.extend(figures::files(report, language));
    }
    files.push(("index.html".to_owned(), html::index(&list, language)));
    files
        .into_iter()
        .map(|(name, content)| {
            let path = out.join(name);
            fs::write(&path, content).map_err(|error| ReportError::File { path: path.display().to_string(), error })?;
            Ok(path)
        })
        .collect()
}
