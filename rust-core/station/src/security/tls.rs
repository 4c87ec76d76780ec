//! The station's certificate: read from files, checked before it is used, exchanged while the station serves.

use rustls::crypto::{CryptoProvider, ring};
use rustls::pki_types::pem::{self, PemObject};
use rustls::pki_types::{CertificateDer, PrivateKeyDer, SubjectPublicKeyInfoDer};
use rustls::server::{ClientHello, ResolvesServerCert, ServerConfig};
use rustls::sign::CertifiedKey;
use std::fmt;
use std::io;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, PoisonError, RwLock};
use survey::time::UnixMs;
use sync::trust::{KeyHash, Pins};
use x509_parser::prelude::{ASN1Time, FromDer, GeneralName, X509Certificate};

/// Where certificate and keys lie, each in PEM (RFC 7468).
#[derive(Debug, Clone)]
pub struct Files {
    /// The certificate, and behind it those that link it to its issuer.
    pub certificate: PathBuf,
    /// Its private key.
    pub key: PathBuf,
    /// The key of the certificate that will follow: private, public, or in a certificate. Only its hash is used.
    pub next_key: Option<PathBuf>,
}

/// A certificate that fits its key and its time.
pub struct Identity {
    certified: Arc<CertifiedKey>,
    /// Its key, and the one that will follow.
    pub pins: Pins,
    /// The names and addresses in it, as they stand in a `Host` header; wildcards left out.
    pub names: Vec<String>,
    /// From when it is valid.
    pub from: UnixMs,
    /// Until when it is valid.
    pub until: UnixMs,
}

/// Why a certificate cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum TlsError {
    /// A file cannot be read.
    #[error("{path} cannot be read: {error}")]
    Unreadable {
        /// Which.
        path: String,
        /// What the system says.
        error: io::Error,
    },
    /// A file holds no such thing in PEM.
    #[error("{path} holds no {what} in PEM")]
    Lacking {
        /// Which.
        path: String,
        /// What is due there.
        what: &'static str,
    },
    /// Everybody on the machine may read the private key.
    #[error("{path} holds a private key and may be read by everybody (mode {mode:o}): set it to 600")]
    Open {
        /// Which.
        path: String,
        /// Its permission bits.
        mode: u32,
    },
    /// Not a certificate or key that can be used.
    #[error("{path} cannot be used: {why}")]
    Unfit {
        /// Which.
        path: String,
        /// What is wrong.
        why: String,
    },
    /// The key is of another certificate.
    #[error("{key} is not the private key of {certificate}: give the pair that was made together")]
    Mismatched {
        /// The file of the certificate.
        certificate: String,
        /// The file of the key.
        key: String,
    },
    /// The certificate is too old.
    #[error("{path} was valid until {until}: renew it, with `leafturn certificate renew` if that made it")]
    Expired {
        /// Which.
        path: String,
        /// The day, UTC.
        until: String,
    },
    /// The certificate is too young, or the clock is wrong.
    #[error("{path} is valid from {from} only: is the clock of this machine right?")]
    NotYet {
        /// Which.
        path: String,
        /// The day, UTC.
        from: String,
    },
}

impl Identity {
    /// Reads and checks, the time as well.
    ///
    /// # Errors
    /// See [`TlsError`].
    pub fn read(files: &Files, now: UnixMs) -> Result<Self, TlsError> {
        let identity = Self::read_whenever(files)?;
        let path = files.certificate.display().to_string();
        if now < identity.from {
            return Err(TlsError::NotYet { path, from: day(identity.from) });
        }
        if now >= identity.until {
            return Err(TlsError::Expired { path, until: day(identity.until) });
        }
        Ok(identity)
    }

    /// Reads and checks all but the time.
    ///
    /// # Errors
    /// See [`TlsError`].
    pub fn read_whenever(files: &Files) -> Result<Self, TlsError> {
        let path = &files.certificate;
        let text = read(path)?;
        let chain: Vec<CertificateDer<'static>> =
            CertificateDer::pem_slice_iter(&text).collect::<Result<_, _>>().map_err(|error| unfit(path, &error))?;
        let first = chain.first().ok_or_else(|| lacking(path, "certificate"))?.clone();
        let (_, parsed) = X509Certificate::from_der(&first).map_err(|error| unfit(path, &error))?;
        let pin = KeyHash::of_certificate(&first).ok_or_else(|| unfit(path, &"its key is not where it should be"))?;
        // The parser gives seconds since 1970.
        let ms = |time: ASN1Time| UnixMs(time.timestamp().saturating_mul(1000));
        let (from, until) = (ms(parsed.validity().not_before), ms(parsed.validity().not_after));
        let key = read_key(&files.key)?;
        let certified = CertifiedKey::from_der(chain, key, &provider()).map_err(|error| match error {
            rustls::Error::InconsistentKeys(_) => {
                TlsError::Mismatched { certificate: path.display().to_string(), key: files.key.display().to_string() }
            }
            other => unfit(&files.key, &other),
        })?;
        let next = files.next_key.as_deref().map(next_key).transpose()?.filter(|next| *next != pin);
        Ok(Self { certified: Arc::new(certified), pins: Pins { pin, next }, names: names(&parsed), from, until })
    }
}

/// The certificate in use, for every connection that begins.
pub struct Certificates {
    files: Files,
    current: RwLock<Arc<Identity>>,
}

impl Certificates {
    /// Begins with what the files hold.
    ///
    /// # Errors
    /// See [`TlsError`].
    pub fn open(files: Files, now: UnixMs) -> Result<Arc<Self>, TlsError> {
        let current = RwLock::new(Arc::new(Identity::read(&files, now)?));
        Ok(Arc::new(Self { files, current }))
    }

    /// Reads the files again. What was in use stays in use where they are wrong.
    ///
    /// # Errors
    /// See [`TlsError`].
    pub fn reload(&self, now: UnixMs) -> Result<Arc<Identity>, TlsError> {
        let fresh = Arc::new(Identity::read(&self.files, now)?);
        *self.current.write().unwrap_or_else(PoisonError::into_inner) = Arc::clone(&fresh);
        Ok(fresh)
    }

    /// What is in use.
    pub fn current(&self) -> Arc<Identity> {
        Arc::clone(&self.current.read().unwrap_or_else(PoisonError::into_inner))
    }

    /// TLS 1.3 and 1.2 and nothing older (RFC 9325 section 3.1.1), with the suites that rustls takes to be good.
    ///
    /// # Errors
    /// Where the library refuses its own settings.
    pub fn config(self: &Arc<Self>) -> Result<Arc<ServerConfig>, rustls::Error> {
        let resolver: Arc<dyn ResolvesServerCert> = Arc::clone(self) as _;
        let mut config = ServerConfig::builder_with_provider(provider())
            .with_protocol_versions(&[&rustls::version::TLS13, &rustls::version::TLS12])?
            .with_no_client_auth()
            .with_cert_resolver(resolver);
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Arc::new(config))
    }
}

impl ResolvesServerCert for Certificates {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(Arc::clone(&self.current().certified))
    }
}

impl fmt::Debug for Certificates {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Certificates").field("files", &self.files).finish_non_exhaustive()
    }
}

/// The cryptography in use, named so that no other build of the library can change it.
pub fn provider() -> Arc<CryptoProvider> {
    Arc::new(ring::default_provider())
}

/// A day in the form of ISO 8601, UTC.
fn day(time: UnixMs) -> String {
    chrono::DateTime::from_timestamp_millis(time.0)
        .map_or_else(|| time.0.to_string(), |time| time.date_naive().to_string())
}

fn read(path: &Path) -> Result<Vec<u8>, TlsError> {
    std::fs::read(path).map_err(|error| TlsError::Unreadable { path: path.display().to_string(), error })
}

fn read_key(path: &Path) -> Result<PrivateKeyDer<'static>, TlsError> {
    let text = read(path)?;
    let key = PrivateKeyDer::from_pem_slice(&text).map_err(|error| match error {
        pem::Error::NoItemsFound => lacking(path, "private key"),
        other => unfit(path, &other),
    })?;
    #[cfg(unix)]
    {
        let found = std::fs::metadata(path)
            .map_err(|error| TlsError::Unreadable { path: path.display().to_string(), error })?;
        let mode = std::os::unix::fs::PermissionsExt::mode(&found.permissions()) & 0o777;
        if mode & 0o007 != 0 {
            return Err(TlsError::Open { path: path.display().to_string(), mode });
        }
    }
    Ok(key)
}

/// The hash of the key that will follow, from whatever holds it.
fn next_key(path: &Path) -> Result<KeyHash, TlsError> {
    let text = read(path)?;
    if let Ok(public) = SubjectPublicKeyInfoDer::from_pem_slice(&text) {
        return Ok(KeyHash::of_spki(&public));
    }
    if let Ok(certificate) = CertificateDer::from_pem_slice(&text) {
        return KeyHash::of_certificate(&certificate).ok_or_else(|| unfit(path, &"this is no certificate"));
    }
    let key = read_key(path)?;
    let key = provider().key_provider.load_private_key(key).map_err(|error| unfit(path, &error))?;
    let public = key.public_key().ok_or_else(|| unfit(path, &"its public key cannot be told"))?;
    Ok(KeyHash::of_spki(&public))
}

fn names(certificate: &X509Certificate<'_>) -> Vec<String> {
    let Ok(Some(alternatives)) = certificate.subject_alternative_name() else {
        return Vec::new();
    };
    let names = alternatives.value.general_names.iter().filter_map(|name| match name {
        GeneralName::DNSName(name) if !name.contains('*') => Some((*name).to_ascii_lowercase()),
        GeneralName::IPAddress(octets) => match octets.len() {
            4 => <[u8; 4]>::try_from(*octets).ok().map(|octets| IpAddr::from(octets).to_string()),
            _ => <[u8; 16]>::try_from(*octets).ok().map(|octets| format!("[{}]", IpAddr::from(octets))),
        },
        _ => None,
    });
    names.collect()
}

fn lacking(path: &Path, what: &'static str) -> TlsError {
    TlsError::Lacking { path: path.display().to_string(), what }
}

fn unfit(path: &Path, why: &dyn fmt::Display) -> TlsError {
    TlsError::Unfit { path: path.display().to_string(), why: why.to_string() }
}
