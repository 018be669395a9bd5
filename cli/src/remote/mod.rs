//! The team's server over HTTP: requests of the wire, problem documents, bytes counted.

mod answer;
mod told;
mod trust;

pub use trust::own_authority;

use crate::CliError;
use answer::Answer;
use flate2::{Compression, write::GzEncoder};
use reqwest::{Method, blocking::Client, header};
use serde::{Serialize, de::DeserializeOwned};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    wire::{
        Admitted, DeviceInfo, ExchangeReply, ExchangeRequest, FoundRequest, InviteReply, InviteRequest,
        JoinRequest, Newer, RenewRequest, Role, read_reply,
    },
};
use std::{io::Write, time::Duration};

/// The longest that an answer may take from its first byte to its last.
const LONGEST: Duration = Duration::from_secs(180);
/// Bodies above this are packed.
const PACK_FROM: usize = 1024;

/// A server, with what this device shows it.
pub struct Remote {
    client: Client,
    url: String,
    token: Option<String>,
    /// What went over the network so far.
    pub traffic: Traffic,
}

/// What went over the network.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Traffic {
    /// Requests.
    pub requests: u64,
    /// Bytes of bodies sent, packed.
    pub bytes_out: u64,
    /// Bytes of bodies received, packed.
    pub bytes_in: u64,
}

/// What an exchange came to.
pub enum Exchanged {
    /// The answer, and the entries in it that only a newer program can read.
    Reply(Box<ExchangeReply>, Vec<Newer>),
    /// The log of this device forked.
    Forked,
    /// The server asks to come again after so many seconds.
    Later(u64),
}

impl Remote {
    /// Names a server; nothing is sent yet. `ca` is a certificate that it is trusted by, in PEM, beside those that the
    /// system knows.
    pub fn new(url: &str, token: Option<String>, ca: Option<&str>) -> Result<Self, CliError> {
        let url = address(url)?;
        Ok(Self { client: trust::client(&url, ca)?, url, token, traffic: Traffic::default() })
    }

    /// Returns the address.
    pub fn url(&self) -> &str {
        &self.url
    }

    /// Returns whether the address means the machine that asks, which no other machine can reach by it.
    pub fn is_here(&self) -> bool {
        Self::means_here(&self.url)
    }

    /// Returns whether an address means the machine that asks.
    pub fn means_here(url: &str) -> bool {
        let host = reqwest::Url::parse(url).ok().and_then(|url| url.host_str().map(str::to_owned));
        host.is_some_and(|host| {
            let ip = host.trim_matches(['[', ']']).parse::<std::net::IpAddr>();
            host == "localhost" || ip.is_ok_and(|ip| ip.is_loopback())
        })
    }

    /// Returns what has to be known before a secret goes to the address, where others can read it on the way.
    pub fn is_open(&self) -> Option<String> {
        (self.url.starts_with("http:") && !self.is_here()).then(|| {
            format!(
                "Note: {} is plain HTTP. Whoever shares the network can read what is sent, and take the secret with \
                 which this device shows who it is. Fine in a network you trust; elsewhere the service needs TLS \
                 (https://).",
                self.url
            )
        })
    }

    /// Shows another secret from now on.
    pub fn show(&mut self, token: String) {
        self.token = Some(token);
    }

    /// Moves a team onto the server.
    pub fn found(&mut self, ask: &FoundRequest) -> Result<Admitted, CliError> {
        self.ask(Method::POST, "/v1/teams", Some(ask))
    }

    /// Comes into a team.
    pub fn join(&mut self, ask: &JoinRequest) -> Result<Admitted, CliError> {
        self.ask(Method::POST, "/v1/join", Some(ask))
    }

    /// Makes an invite.
    pub fn invite(&mut self, team: TeamId, ask: &InviteRequest) -> Result<InviteReply, CliError> {
        self.ask(Method::POST, &format!("/v1/teams/{team}/invites"), Some(ask))
    }

    /// Asks to go on under another device id.
    pub fn renew(&mut self, team: TeamId, ask: &RenewRequest) -> Result<Admitted, CliError> {
        self.ask(Method::POST, &format!("/v1/teams/{team}/devices"), Some(ask))
    }

    /// Lists the devices of a team.
    pub fn devices(&mut self, team: TeamId) -> Result<Vec<DeviceInfo>, CliError> {
        #[derive(serde::Deserialize)]
        struct Devices {
            devices: Vec<DeviceInfo>,
        }
        let found: Devices = self.ask(Method::GET, &format!("/v1/teams/{team}/devices"), None::<&()>)?;
        Ok(found.devices)
    }

    /// Shuts a device out.
    pub fn shut(&mut self, team: TeamId, device: DeviceId) -> Result<(), CliError> {
        let answer = self.send(Method::DELETE, &format!("/v1/teams/{team}/devices/{device}"), None::<&()>)?;
        self.done(answer)
    }

    /// Gives a person a role.
    pub fn role(&mut self, team: TeamId, person: ThingId, role: Role) -> Result<(), CliError> {
        let path = format!("/v1/teams/{team}/people/{person}/role");
        let answer = self.send(Method::PUT, &path, Some(&serde_json::json!({"role": role})))?;
        self.done(answer)
    }

    /// Exchanges a page of entries.
    pub fn exchange(&mut self, team: TeamId, ask: &ExchangeRequest) -> Result<Exchanged, CliError> {
        let answer = self.send(Method::POST, &format!("/v1/teams/{team}/exchange"), Some(ask))?;
        if answer.status == 409 && answer.problem().is_some_and(|p| p.code == "fork") {
            return Ok(Exchanged::Forked);
        }
        if let (429 | 503, Some(seconds)) = (answer.status, answer.retry_after_s) {
            return Ok(Exchanged::Later(seconds));
        }
        let answer = self.accept(answer)?;
        let (reply, newer) = read_reply(&answer.body).ok_or_else(|| told::no_answer(&self.url, &answer))?;
        Ok(Exchanged::Reply(Box::new(reply), newer))
    }

    fn ask<T: DeserializeOwned>(
        &mut self,
        method: Method,
        path: &str,
        body: Option<&impl Serialize>,
    ) -> Result<T, CliError> {
        let answer = self.send(method, path, body)?;
        self.read(answer)
    }

    fn read<T: DeserializeOwned>(&self, answer: Answer) -> Result<T, CliError> {
        let answer = self.accept(answer)?;
        serde_json::from_slice(&answer.body).map_err(|_| told::no_answer(&self.url, &answer))
    }

    /// Takes the answer to a request that has nothing to hand out. A network that wants a login answers with success,
    /// too, and a page.
    fn done(&self, answer: Answer) -> Result<(), CliError> {
        let answer = self.accept(answer)?;
        if answer.status == 204 || answer.is_json() {
            Ok(())
        } else {
            Err(told::no_answer(&self.url, &answer))
        }
    }

    fn send(
        &mut self,
        method: Method,
        path: &str,
        body: Option<&impl Serialize>,
    ) -> Result<Answer, CliError> {
        let mut request = self
            .client
            .request(method, format!("{}{path}", self.url))
            .header(header::ACCEPT, "application/json")
            .header(header::ACCEPT_ENCODING, "gzip");
        if let Some(token) = &self.token {
            request = request.bearer_auth(token);
        }
        if let Some(body) = body {
            let json = serde_json::to_vec(body)
                .map_err(|e| CliError::bug(format!("the request cannot be written: {e}")))?;
            request = request.header(header::CONTENT_TYPE, "application/json");
            let bytes = if json.len() > PACK_FROM {
                request = request.header(header::CONTENT_ENCODING, "gzip");
                pack(&json)?
            } else {
                json
            };
            self.traffic.bytes_out += bytes.len() as u64;
            request = request.body(bytes);
        }
        self.traffic.requests += 1;
        let response = request.send().map_err(|e| self.unreachable(&e))?;
        let answer = Answer::take(response).map_err(|e| {
            let late = if e.kind() == std::io::ErrorKind::TimedOut { ": it took too long" } else { "" };
            CliError::out_of_reach(format!("the answer of {} broke off{late}", self.url))
                .hint("nothing is lost; sync again when the network is better")
        })?;
        self.traffic.bytes_in += answer.bytes;
        Ok(answer)
    }

    fn accept(&self, answer: Answer) -> Result<Answer, CliError> {
        if (200..300).contains(&answer.status) {
            return Ok(answer);
        }
        if let Some(to) = &answer.sends_on {
            return Err(trust::sent_on(&self.url, to));
        }
        Err(told::refusal(&self.url, &answer, self.token.is_some()))
    }

    fn unreachable(&self, e: &reqwest::Error) -> CliError {
        if let Some(told) = trust::told(&self.url, e) {
            return told;
        }
        if e.is_builder() {
            return CliError::input(format!("`{}` is no address that can be asked", self.url))
                .hint("write it like https://sheaf.example");
        }
        let what = match () {
            () if e.is_timeout() => "did not answer in time",
            () if e.is_connect() => "cannot be reached",
            () => "broke off before it had answered",
        };
        if is_no_http(e) {
            return CliError::out_of_reach(format!("{} answered, but not in HTTP", self.url))
                .hint("is the address right, with its scheme and port? What you recorded is kept");
        }
        CliError::out_of_reach(format!("{} {what}", self.url))
            .hint("nothing is lost: go on without, and sync when there is a network")
    }
}

/// Whether something answered that does not speak HTTP.
fn is_no_http(e: &reqwest::Error) -> bool {
    let first = std::error::Error::source(e);
    let causes = std::iter::successors(first, |cause| cause.source());
    causes.map(ToString::to_string).any(|cause| cause.starts_with("invalid HTTP"))
}

fn pack(json: &[u8]) -> Result<Vec<u8>, CliError> {
    let mut packer = GzEncoder::new(Vec::new(), Compression::fast());
    let packed = packer.write_all(json).and_then(|()| packer.finish());
    packed.map_err(|e| CliError::bug(format!("the request cannot be packed: {e}")))
}

/// Returns an address in the form that paths are added to; one without a scheme is taken as https, on this
/// machine as http.
fn address(typed: &str) -> Result<String, CliError> {
    let typed = typed.trim();
    let bad =
        || CliError::input(format!("`{typed}` is no address")).hint("write it like https://sheaf.example");
    let (scheme, place) = match typed.split_once("://") {
        Some((scheme @ ("http" | "https"), place)) => (Some(scheme), place),
        Some(_) => return Err(bad()),
        None => (None, typed),
    };
    let place = place.trim_end_matches('/');
    let host = place.split(['/', ':']).next().unwrap_or_default();
    let here = matches!(host, "localhost" | "127.0.0.1" | "[");
    let scheme = scheme.unwrap_or(if here { "http" } else { "https" });
    let address = format!("{scheme}://{place}");
    let sound = !place.is_empty() && !place.contains(char::is_whitespace);
    if sound && reqwest::Url::parse(&address).is_ok() { Ok(address) } else { Err(bad()) }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn an_address_gets_the_scheme_that_fits() {
        assert_eq!(address("sheaf.example/").unwrap(), "https://sheaf.example");
        assert_eq!(address("localhost:7433").unwrap(), "http://localhost:7433");
        assert_eq!(address(" http://10.0.0.2:7433 ").unwrap(), "http://10.0.0.2:7433");
        for bad in ["", "two words", "http://", "https:///", "http://[::1", "sheaf.example:port", "ftp://a"] {
            assert!(address(bad).is_err(), "{bad}");
        }
    }
}
