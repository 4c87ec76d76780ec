//! The operating system's random source.

/// The operating system gave no random octets.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the operating system gave no random octets: {reason}")]
pub struct NoRandom {
    /// What it says.
    pub reason: String,
}

/// `N` octets fit for keys and secrets.
///
/// # Errors
/// Where the operating system gives none.
pub fn octets<const N: usize>() -> Result<[u8; N], NoRandom> {
    let mut octets = [0; N];
    getrandom::fill(&mut octets).map_err(|error| NoRandom { reason: error.to_string() })?;
    Ok(octets)
}
