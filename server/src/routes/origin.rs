//! Where a request comes from, as far as its connection and a proxy on this machine tell.

use std::net::IpAddr;
use warp::http::{HeaderMap, header};

/// Headers by which a proxy says that it hands a request on.
const HANDED_ON: [&str; 6] =
    ["forwarded", "via", "x-forwarded-for", "x-forwarded-host", "x-forwarded-proto", "x-real-ip"];

/// Where a request comes from.
#[derive(Debug, Clone, Copy)]
pub struct Origin {
    /// The address of who asks: behind a proxy on this machine, the one that the proxy names.
    pub address: IpAddr,
    /// Whether it comes from this machine, and was not handed on by a proxy.
    pub direct: bool,
    /// Whether a program of this machine asks for this machine: no proxy, and no page of a browser that was sent here.
    pub local: bool,
    /// Whether it came over TLS.
    pub secure: bool,
    /// Whether the other end of the connection is on this machine: what it says of others is believed.
    trusted: bool,
}

impl Origin {
    /// Reads where a request comes from.
    pub fn of(peer: IpAddr, headers: &HeaderMap) -> Self {
        // A proxy may add a line of its own behind those that the client sent, so the last one is the proxy's.
        let text = |name: &str| headers.get_all(name).iter().next_back().and_then(|v| v.to_str().ok());
        let trusted = peer.to_canonical().is_loopback();
        let named = text("x-forwarded-for").and_then(|list| list.rsplit(',').next()?.trim().parse().ok());
        let hosts = headers.get_all(header::HOST);
        let direct = trusted && !HANDED_ON.iter().any(|name| headers.contains_key(*name));
        Self {
            address: named.filter(|_| trusted).unwrap_or(peer),
            direct,
            local: direct && hosts.iter().all(|host| host.to_str().is_ok_and(means_here)),
            secure: trusted && text("x-forwarded-proto").is_some_and(|p| p.eq_ignore_ascii_case("https")),
            trusted,
        }
    }

    /// Returns the number that a proxy on this machine gave the request, if it is one.
    pub fn request_id(&self, headers: &HeaderMap) -> Option<String> {
        let given = headers.get("x-request-id").filter(|_| self.trusted)?.to_str().ok()?;
        given.parse::<uuid::Uuid>().ok().map(|id| id.to_string())
    }
}

/// Whether a host, with or without its port, is this machine by name. A page that has its own name point to this
/// machine is asked for by that name.
fn means_here(host: &str) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|b| b.is_ascii_digit()) => name,
        _ => host,
    };
    let address = name.trim_matches(['[', ']']).parse::<IpAddr>();
    name.eq_ignore_ascii_case("localhost") || address.is_ok_and(|ip| ip.to_canonical().is_loopback())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use warp::http::{HeaderName, HeaderValue};

    fn origin(peer: &str, given: &[(&'static str, &'static str)]) -> Origin {
        let pairs = given.iter().map(|(n, v)| (HeaderName::from_static(n), HeaderValue::from_static(v)));
        Origin::of(peer.parse().unwrap(), &pairs.collect())
    }

    #[test]
    fn a_proxy_on_this_machine_is_believed_and_nobody_else() {
        let named = [("x-forwarded-for", "198.51.100.1, 192.0.2.7"), ("x-forwarded-proto", "https")];
        let behind = origin("127.0.0.1", &named);
        assert_eq!((behind.address.to_string().as_str(), behind.secure), ("192.0.2.7", true));
        assert!(!behind.direct && !behind.local);
        let far = origin("203.0.113.9", &named);
        assert_eq!((far.address.to_string().as_str(), far.secure), ("203.0.113.9", false));
        assert!(!far.direct && !far.local);
    }

    #[test]
    fn of_several_lines_the_last_is_the_proxys() {
        let lines = [("x-forwarded-for", "203.0.113.9"), ("x-forwarded-for", "192.0.2.7")];
        let mut headers = HeaderMap::new();
        for (name, value) in lines {
            headers.append(name, HeaderValue::from_static(value));
        }
        let behind = Origin::of("127.0.0.1".parse().unwrap(), &headers);
        assert_eq!(behind.address.to_string(), "192.0.2.7", "the first line may be of the client");
    }

    #[test]
    fn every_host_that_is_named_has_to_be_this_machine() {
        let mut headers = HeaderMap::new();
        headers.append(header::HOST, HeaderValue::from_static("localhost"));
        let local = |headers: &HeaderMap| Origin::of("127.0.0.1".parse().unwrap(), headers).local;
        assert!(local(&headers));
        headers.append(header::HOST, HeaderValue::from_static("sheaf.example"));
        assert!(!local(&headers));
        headers.clear();
        headers.append(header::HOST, HeaderValue::from_bytes(b"sheaf\xff.example").unwrap());
        assert!(!local(&headers), "a name that nobody can read is not this machine's");
    }

    #[test]
    fn only_a_program_of_this_machine_is_local() {
        for (peer, host, local) in [
            ("127.0.0.1", "127.0.0.1:7433", true),
            ("::1", "[::1]:7433", true),
            ("::ffff:127.0.0.1", "localhost", true),
            ("127.0.0.1", "sheaf.example:7433", false),
            ("127.0.0.1", "127.0.0.1.sheaf.example", false),
            ("192.0.2.7", "127.0.0.1:7433", false),
        ] {
            assert_eq!(origin(peer, &[("host", host)]).local, local, "{peer} asks {host}");
        }
        for name in HANDED_ON {
            let handed = origin("127.0.0.1", &[("host", "localhost"), (name, "x")]);
            assert!(!handed.local && !handed.direct, "{name}");
        }
    }

    #[test]
    fn a_number_is_taken_from_a_proxy_on_this_machine_only() {
        let given = [("x-request-id", "0123456789abcdef0123456789abcdef")];
        let id = |peer: &str, given: &[(&'static str, &'static str)]| {
            let headers =
                given.iter().map(|(n, v)| (HeaderName::from_static(n), HeaderValue::from_static(v)));
            origin(peer, given).request_id(&headers.collect())
        };
        assert_eq!(id("127.0.0.1", &given).unwrap(), "01234567-89ab-cdef-0123-456789abcdef");
        assert_eq!(id("192.0.2.7", &given), None);
        assert_eq!(id("127.0.0.1", &[("x-request-id", "made up")]), None);
    }
}
