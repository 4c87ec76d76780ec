//! The same-origin check for requests that change state from a page.

/// Whether a request that changes state comes from a page of the station itself. Browsers send `Sec-Fetch-Site` (W3C Fetch
/// Metadata) or at least `Origin` with every POST; a request with neither is turned away.
pub fn is_own(sec_fetch_site: Option<&str>, origin: Option<&str>, host: &str) -> bool {
    let origin_fits = origin.map(|origin| {
        origin
            .strip_prefix("http://")
            .or_else(|| origin.strip_prefix("https://"))
            .is_some_and(|name| name.eq_ignore_ascii_case(host))
    });
    match (sec_fetch_site, origin_fits) {
        (Some(site), fits) => site == "same-origin" && fits.unwrap_or(true),
        (None, Some(fits)) => fits,
        (None, None) => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_own_pages_change_state() {
        let host = "127.0.0.1:8787";
        for (site, origin, own) in [
            (Some("same-origin"), Some("http://127.0.0.1:8787"), true),
            (Some("same-origin"), None, true),
            (None, Some("http://127.0.0.1:8787"), true),
            (None, Some("http://127.0.0.1:9999"), false),
            (None, Some("null"), false),
            (Some("cross-site"), Some("http://127.0.0.1:8787"), false),
            (Some("none"), None, false),
            (None, None, false),
        ] {
            assert_eq!(is_own(site, origin, host), own, "{site:?} {origin:?}");
        }
    }
}
