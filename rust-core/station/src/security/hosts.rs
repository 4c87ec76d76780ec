//! Which `Host` headers the station answers to, and which addresses it listens on.
//! A page of another site that resolves its name to this machine (DNS rebinding) is turned away by the first.

use std::net::{IpAddr, SocketAddr};

/// The names the station answers to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hosts {
    names: Vec<String>,
}

/// The address may not be listened on.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{address} can be reached from other machines, and without TLS they could read every count and every token: \
     give a certificate with --certificate FILE --key FILE (`leafturn certificate make` makes one), \
     or put a proxy that does TLS in front and name it with --behind-proxy ADDR, or listen on a loopback address"
)]
pub struct OpenToOthers {
    /// The address.
    pub address: SocketAddr,
}

impl Hosts {
    /// Loopback names and `also`, each without a port.
    pub fn new(also: &[String]) -> Self {
        let own = ["127.0.0.1", "localhost", "[::1]"].map(String::from);
        Self { names: own.into_iter().chain(also.iter().map(|name| name.to_ascii_lowercase())).collect() }
    }

    /// Whether the text of a `Host` header names one of them; a port is passed over.
    pub fn allow(&self, header: &str) -> bool {
        let name = match header.rsplit_once(':') {
            Some((name, port)) if !port.is_empty() && port.bytes().all(|octet| octet.is_ascii_digit()) => name,
            _ => header,
        };
        let name = name.to_ascii_lowercase();
        self.names.contains(&name)
    }
}

/// What keeps others from reading along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cover {
    /// Nothing.
    None,
    /// A proxy in front does TLS.
    Proxy,
    /// The station speaks TLS itself.
    Tls,
}

/// Refuses an address that other machines can reach, unless something keeps others from reading along.
///
/// # Errors
/// [`OpenToOthers`].
pub fn check_address(address: SocketAddr, cover: Cover) -> Result<(), OpenToOthers> {
    if address.ip().is_loopback() || cover != Cover::None { Ok(()) } else { Err(OpenToOthers { address }) }
}

/// The address a request comes from: the peer's, or the last forwarded one if the peer is the named proxy.
pub fn client_address(peer: IpAddr, forwarded_for: Option<&str>, behind_proxy: Option<IpAddr>) -> IpAddr {
    if behind_proxy != Some(peer) {
        return peer;
    }
    forwarded_for.and_then(|list| list.rsplit(',').next()).and_then(|last| last.trim().parse().ok()).unwrap_or(peer)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_on_the_list_are_answered() {
        let hosts = Hosts::new(&["Fields.Example".into()]);
        for (header, allowed) in [
            ("127.0.0.1:8787", true),
            ("localhost", true),
            ("[::1]:1", true),
            ("fields.example:443", true),
            ("FIELDS.EXAMPLE", true),
            ("evil.example", false),
            ("127.0.0.1.evil.example", false),
            ("localhost:", false),
            ("", false),
        ] {
            assert_eq!(hosts.allow(header), allowed, "{header}");
        }
    }

    #[test]
    fn other_machines_get_in_only_by_tls() {
        let open: SocketAddr = "0.0.0.0:80".parse().unwrap();
        let said = check_address(open, Cover::None).unwrap_err().to_string();
        assert!(said.contains("--behind-proxy") && said.contains("--certificate"));
        assert!(check_address(open, Cover::Proxy).is_ok() && check_address(open, Cover::Tls).is_ok());
        assert!(check_address("[::1]:80".parse().unwrap(), Cover::None).is_ok());
        assert!(check_address("192.0.2.1:80".parse().unwrap(), Cover::None).is_err());
    }

    /// Addresses of the documentation block, RFC 5737.
    #[test]
    fn forwarded_addresses_are_believed_from_the_proxy_alone() {
        let (proxy, phone, liar): (IpAddr, IpAddr, IpAddr) =
            ("192.0.2.1".parse().unwrap(), "198.51.100.7".parse().unwrap(), "203.0.113.9".parse().unwrap());
        assert_eq!(client_address(proxy, Some("203.0.113.9, 198.51.100.7"), Some(proxy)), phone);
        assert_eq!(client_address(liar, Some("198.51.100.7"), Some(proxy)), liar);
        assert_eq!(client_address(liar, Some("198.51.100.7"), None), liar);
        assert_eq!(client_address(proxy, Some("nonsense"), Some(proxy)), proxy);
    }
}
