//! Jobs with their bodies.

use super::{Made, known};
use crate::error::Error;
use crate::journal::files::{OUTGOING, write_lasting};
use crate::journal::{rows, streams};
use crate::object::Handset;
use ::sync::engine::{Class, Job, JobId, Method, NotMade, Work};
use ::sync::framing::{Encoding, encode_batch, encode_hole};
use ::sync::trust::Trust;
use ::sync::wire::photo::PART_BYTES;
use ::sync::wire::push::Purpose;
use ::sync::wire::{content, text};
use rusqlite::OptionalExtension;
use serde::Serialize;
use std::io::{Read, Seek, SeekFrom};
use survey::chain::{Hash, Head, Link, Seq, StreamId};
use survey::ids::PhotoId;

/// A request for the shell's HTTP stack.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HttpJob {
    /// Its id, for [`Handset::job_done`].
    pub id: JobId,
    /// Whether it may be left to the system's background transfers.
    pub class: Class,
    /// The method.
    pub method: Method,
    /// Path and query, to be put behind the station's address.
    pub path: String,
    /// Header fields, names in lower case. The token is not among them.
    pub headers: Vec<(String, String)>,
    /// Whether the shell adds `authorization: Bearer` with the token.
    pub token: Token,
    /// By which keys the shell judges a certificate that its system does not trust ([`::sync::trust::judge`]); without
    /// them only what the system trusts is good.
    pub trust: Option<Trust>,
    /// The body.
    pub body: Body,
}

/// Whether a request carries the token.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Token {
    /// It does.
    Send,
    /// It does not: there is none yet that the station knows.
    None,
}

/// The body of a request.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Body {
    /// None.
    None,
    /// These octets.
    Octets(Vec<u8>),
    /// The file of this name, relative to the handset's folder; it stays until the outcome is stored.
    File(String),
}

/// Makes the body of a job, or says why it cannot be made.
pub(crate) fn make(handset: &mut Handset, job: &Job) -> Result<Made, Error> {
    let mut headers = job.headers.clone();
    let body = match job.work {
        Work::Enrol | Work::Hello => Ok(Body::Octets(job.inline.clone().unwrap_or_default().into_bytes())),
        Work::Feed { .. } | Work::Verdicts { .. } | Work::PhotoState { .. } => Ok(Body::None),
        Work::Push { stream, first, most } => batch(handset, stream, first, most, Purpose::Entries)?,
        Work::Fill { stream, seq } => batch(handset, stream, seq, 1, Purpose::Fill)?,
        Work::Hole { stream, seq, reason } => match ends_of_hole(handset, stream, seq)? {
            Some((before, after)) => Ok(Body::Octets(encode_hole(before, after, reason, Encoding::Gzip))),
            None => Err(NotMade::TryLater),
        },
        Work::Text { hash } => note(handset, hash)?.ok_or(NotMade::TryLater),
        Work::Part { photo, n } => {
            if let Some((octets, salt)) = part(handset, photo, n)? {
                headers.push((content::PART_HASH_HEADER.to_owned(), Hash::plain(&octets).to_string()));
                headers.push((content::PHOTO_SALT_HEADER.to_owned(), salt));
                let name = format!("{OUTGOING}/{}", job.id.0);
                write_lasting(&*handset.around.disk.files, &handset.folder.join(&name), &octets)?;
                Ok(Body::File(name))
            } else {
                lose(handset, photo)?;
                Err(NotMade::TryLater)
            }
        }
    };
    let trust = super::trust::kept(handset)?;
    Ok(body.map(|body| HttpJob {
        id: job.id,
        class: job.class,
        method: job.method,
        path: job.path.clone(),
        headers,
        token: if job.work == Work::Enrol { Token::None } else { Token::Send },
        trust,
        body,
    }))
}

fn batch(
    handset: &Handset,
    stream: StreamId,
    first: Seq,
    most: usize,
    purpose: Purpose,
) -> Result<Result<Body, NotMade>, Error> {
    let links = links(handset, stream, first, most as u64)?;
    if links.first().is_some_and(|link| link.seq > first) {
        return Ok(Err(NotMade::Damaged(first)));
    }
    let links = rows::without_gap(links, first);
    if let Some(damaged) = links.iter().find(|link| link.verify().is_err()) {
        return Ok(Err(NotMade::Damaged(damaged.seq)));
    }
    Ok(match encode_batch(&links, purpose, Encoding::Gzip) {
        Some((octets, _)) => Ok(Body::Octets(octets)),
        None if links.is_empty() => Err(NotMade::TryLater),
        None => Err(NotMade::Damaged(first)),
    })
}

/// The ends before and behind an entry that is damaged, or lost in a gap.
fn ends_of_hole(handset: &Handset, stream: StreamId, seq: Seq) -> Result<Option<(Head, Head)>, Error> {
    let Some(row) = streams::row_of(&handset.db, stream)? else { return Ok(None) };
    if let Some(link) = rows::without_gap(links(handset, stream, seq, 1)?, seq).first() {
        return Ok(Some((Head { seq: Seq(seq.0 - 1), hash: link.previous }, link.head())));
    }
    let Some(after) = rows::head_of_lost(&handset.db, row, stream, seq)? else { return Ok(None) };
    let before = Seq(seq.0 - 1);
    let before = match rows::head_of_lost(&handset.db, row, stream, before)? {
        Some(head) => head,
        None if before == Seq(0) => Head::START,
        None => links(handset, stream, before, 1)?.first().map_or(Head::START, Link::head),
    };
    Ok(Some((before, after)))
}

fn links(handset: &Handset, stream: StreamId, first: Seq, most: u64) -> Result<Vec<Link>, Error> {
    let row = streams::row_of(&handset.db, stream)?;
    row.map_or(Ok(Vec::new()), |row| rows::own_links(&handset.db, row, stream, first, most))
}

fn note(handset: &Handset, hash: Hash) -> Result<Option<Body>, Error> {
    let found = handset
        .db
        .query_row("SELECT salt, text FROM text WHERE hash = ?1", [hash.0], |row| {
            Ok((row.get::<_, [u8; 16]>(0)?, row.get::<_, String>(1)?))
        })
        .optional()?;
    Ok(found.map(|(salt, words)| Body::Octets(text::encode(salt, &words))))
}

/// The octets of a part; `None` where the photo's file is gone.
/// A part of a photo, and the photo's salt in hexadecimal digits; `None` where its file is gone.
fn part(handset: &Handset, photo: PhotoId, n: u32) -> Result<Option<(Vec<u8>, String)>, Error> {
    let found = handset
        .db
        .query_row("SELECT name, salt FROM photo WHERE photo = ?1", [photo.octets()], |row| {
            Ok((row.get::<_, Option<String>>(0)?, row.get::<_, [u8; 16]>(1)?))
        })
        .optional()?;
    let Some((Some(name), salt)) = found else { return Ok(None) };
    let path = handset.folder.join(name);
    let mut file = match std::fs::File::open(&path) {
        Ok(file) => file,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(cause) => return Err(Error::File { path, cause }),
    };
    let mut octets = Vec::new();
    file.seek(SeekFrom::Start(u64::from(n) * PART_BYTES)).map_err(Error::file(&path))?;
    file.take(PART_BYTES).read_to_end(&mut octets).map_err(Error::file(&path))?;
    Ok(Some((octets, format!("{:032x}", u128::from_be_bytes(salt)))))
}

/// A photo whose file is gone is said to be lost, once.
fn lose(handset: &mut Handset, photo: PhotoId) -> Result<(), Error> {
    if known::is_here(&handset.db, photo)? {
        handset.mark_photo_lost(photo)?;
    }
    Ok(())
}
