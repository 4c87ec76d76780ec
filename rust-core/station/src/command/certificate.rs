//! `leafturn certificate`: certificates for a station whose name no public issuer vouches for, such as one at home.
//!
//! One file holds certificate and key, so that a renewal is one rename: no moment has a key that does not fit.

use super::{CommandError, Data, Outcome, print_line};
use crate::edge::clock;
use crate::security::tls::{Files, Identity, TlsError};
use chrono::{DateTime, Datelike, Days, Utc};
use clap::{Args, Subcommand};
use rcgen::{
    CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, KeyPair, PublicKeyData, date_time_ymd,
};
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use sync::trust::KeyHash;

#[derive(Debug, Subcommand)]
pub(super) enum Act {
    /// Make a certificate with its key, and the key of the one that will follow.
    Make(Make),
    /// Make the next certificate, with the key that phones have learnt; and the key after that.
    Renew(Renew),
}

/// Make a certificate with its key, and the key of the one that will follow.
///
/// Phones that scan an invitation believe it; browsers warn of it once, for nobody vouches for it. Valid for two years.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn certificate make --name 192.168.1.20
  leafturn certificate make --name barn.local --name 192.168.1.20")]
pub(super) struct Make {
    #[command(flatten)]
    data: Data,
    /// A name or an address of this machine, as phones reach it; may stand several times, the first goes into invitations.
    #[arg(long = "name", value_name = "NAME", required = true)]
    names: Vec<String>,
}

/// Make the next certificate, with the key that phones have learnt; and the key after that.
///
/// A serving station takes it up at SIGHUP. Phones that have synced since the last renewal go on by themselves; others scan
/// an invitation again.
#[derive(Debug, Args)]
pub(super) struct Renew {
    #[command(flatten)]
    data: Data,
}

/// Why a certificate cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum NotMade {
    /// There is one already.
    #[error("{path} is there already: `leafturn certificate renew` makes the next one")]
    There {
        /// Which file.
        path: String,
    },
    /// A name is none.
    #[error("a certificate cannot be made: {0}")]
    Refused(#[from] rcgen::Error),
    /// A file.
    #[error("{path}: {error}")]
    File {
        /// Which.
        path: String,
        /// What the system says.
        error: io::Error,
    },
}

/// How long a certificate is valid: two years, in days.
const VALID_DAYS: u64 = 730;

/// Where the files lie.
struct Place {
    folder: PathBuf,
    /// Certificate and key.
    pair: PathBuf,
    next: PathBuf,
    /// The key after the next, while a renewal is under way.
    after: PathBuf,
}

impl Act {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        match self {
            Self::Make(make) => make.run(),
            Self::Renew(renew) => renew.run(),
        }
    }
}

impl Make {
    fn run(self) -> Result<Outcome, CommandError> {
        let place = Place::of(&self.data.folder)?;
        if place.pair.exists() {
            return Err(NotMade::There { path: place.pair.display().to_string() }.into());
        }
        let (key, next) = (key_pair()?, key_pair()?);
        put(&place.next, &next.serialize_pem())?;
        put(&place.pair, &pair(&self.names, &key)?)?;
        place.say()?;
        Ok(Outcome::Fine)
    }
}

impl Renew {
    fn run(self) -> Result<Outcome, CommandError> {
        let place = Place::of(&self.data.folder)?;
        let names = place.identity()?;
        let text = fs::read_to_string(&place.next).map_err(file(&place.next))?;
        let key = KeyPair::from_pem(&text).map_err(NotMade::from)?;
        // A renewal that broke off behind its first rename is finished, not done twice: phones know of one key only.
        if names.pin != KeyHash::of_spki(&key.subject_public_key_info()) {
            put(&place.after, &key_pair()?.serialize_pem())?;
            put(&place.pair, &pair(&names.names, &key)?)?;
        }
        fs::rename(&place.after, &place.next).map_err(file(&place.next))?;
        sync_folder(&place.folder)?;
        place.say()?;
        Ok(Outcome::Fine)
    }
}

/// What the certificate in use says.
struct Said {
    names: Vec<String>,
    pin: KeyHash,
}

impl Place {
    fn of(data: &Path) -> Result<Self, CommandError> {
        let folder = data.join("tls");
        let mut builder = fs::DirBuilder::new();
        builder.recursive(true);
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(&folder).map_err(file(&folder))?;
        let at = |name: &str| folder.join(name);
        Ok(Self { pair: at("station.pem"), next: at("next-key.pem"), after: at("next-key.pem.after"), folder })
    }

    /// The names of the certificate in use, be it too old or not.
    fn identity(&self) -> Result<Said, CommandError> {
        let files = Files { certificate: self.pair.clone(), key: self.pair.clone(), next_key: None };
        let identity = Identity::read_whenever(&files)?;
        if identity.names.is_empty() {
            return Err(TlsError::Lacking { path: self.pair.display().to_string(), what: "name" }.into());
        }
        Ok(Said { names: identity.names.iter().map(|name| bare(name)).collect(), pin: identity.pins.pin })
    }

    fn say(&self) -> Result<(), CommandError> {
        let (pair, next) = (self.pair.display(), self.next.display());
        print_line(&format!("{pair}\n{next}"))?;
        print_line(&format!("leafturn serve --listen 0.0.0.0:8787 --certificate {pair} --key {pair} --next-key {next}"))
    }
}

/// A name as a certificate wants it: addresses of IPv6 without brackets.
fn bare(name: &str) -> String {
    name.trim_start_matches('[').trim_end_matches(']').to_owned()
}

fn key_pair() -> Result<KeyPair, NotMade> {
    // ECDSA on P-256: every phone's TLS takes it.
    Ok(KeyPair::generate()?)
}

/// Certificate and key in one text.
fn pair(names: &[String], key: &KeyPair) -> Result<String, NotMade> {
    let mut params = CertificateParams::new(names.iter().map(|name| bare(name)).collect::<Vec<_>>())?;
    params.distinguished_name = DistinguishedName::new();
    params.distinguished_name.push(DnType::CommonName, "Leafturn station");
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    let today = DateTime::from_timestamp_millis(clock::now().0).unwrap_or(DateTime::<Utc>::UNIX_EPOCH).date_naive();
    // From yesterday, for phones whose clocks are behind.
    let (from, until) = (today - Days::new(1), today + Days::new(VALID_DAYS));
    let day = |date: chrono::NaiveDate| {
        let small = |number: u32| u8::try_from(number).expect("months and days are small");
        date_time_ymd(date.year(), small(date.month()), small(date.day()))
    };
    (params.not_before, params.not_after) = (day(from), day(until));
    Ok(format!("{}{}", params.self_signed(key)?.pem(), key.serialize_pem()))
}

/// Puts a file in place whole or not at all, for its owner alone.
fn put(path: &Path, text: &str) -> Result<(), NotMade> {
    let aside = path.with_extension("new");
    let written = || -> io::Result<()> {
        let mut options = OpenOptions::new();
        options.write(true).create(true).truncate(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut out = options.open(&aside)?;
        out.write_all(text.as_bytes())?;
        out.sync_all()?;
        fs::rename(&aside, path)
    };
    written().map_err(file(path))?;
    path.parent().map_or(Ok(()), sync_folder)
}

fn sync_folder(folder: &Path) -> Result<(), NotMade> {
    File::open(folder).and_then(|opened| opened.sync_all()).map_err(file(folder))
}

fn file(path: &Path) -> impl Fn(io::Error) -> NotMade {
    move |error| NotMade::File { path: path.display().to_string(), error }
}
