//! The same-origin check for requests that change state from a page.

/// Whether a request that changes state comes from a page of the station itself. Browsers send `Sec-Fetch-Site` (W3C Fetch
/// Metadata) or at least `Origin` with every POST; a request with neither is turned away. The scheme is the one that
/// browsers see: a page that came in the clear is not a page of a station that speaks TLS.
pub fn is_own(sec_fetch_site: Option<&str>, origin: Option<&str>, scheme: &str, host: &str) -> bool {
    let origin_fits = origin.map(|origin| {
        let parts = origin.split_once("://");
        parts.is_some_and(|(own, name)| own == scheme && name.eq_ignore_ascii_case(host))
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
            (None, Some("https://127.0.0.1:8787"), false),
            (None, Some("null"), false),
            (Some("cross-site"), Some("http://127.0.0.1:8787"), false),
            (Some("none"), None, false),
            (None, None, false),
        ] {
            assert_eq!(is_own(site, origin, "http", host), own, "{site:?} {origin:?}");
        }
        assert!(is_own(None, Some("https://fields.example"), "https", "fields.example"));
        assert!(!is_own(None, Some("http://fields.example"), "https", "fields.example"));
    }
}
