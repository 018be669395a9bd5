//! Whom a connection trusts, and what is told when it trusts nobody.

use crate::CliError;
use reqwest::{
    Certificate,
    blocking::{Client, ClientBuilder},
    redirect::Policy,
};
use rustls::{
    CertificateError,
    pki_types::{CertificateDer, pem::PemObject},
};
use std::{error::Error, fs, io, path::Path, time::Duration};

/// Reads the certificate that a service is to be trusted by, of its own or of who issued it; returns its PEM.
pub fn own_authority(file: &Path) -> Result<String, CliError> {
    let text = fs::read_to_string(file).map_err(|e| CliError::file("read the certificate", file, &e))?;
    if text.contains("PRIVATE KEY-----") {
        return Err(CliError::input(format!("{} holds a private key", file.display())).hint(
            "that stays with the service; give a file with the certificate alone, and take this one away from here",
        ));
    }
    let found: Result<Vec<_>, _> = CertificateDer::pem_slice_iter(text.as_bytes()).collect();
    let sound = |found: &Vec<CertificateDer<'static>>| {
        let mut roots = rustls::RootCertStore::empty();
        !found.is_empty() && found.iter().all(|der| roots.add(der.clone()).is_ok())
    };
    if !found.is_ok_and(|found| sound(&found)) {
        return Err(CliError::input(format!("{} holds no certificate that can be read", file.display()))
            .hint("it has to be in PEM: a text that begins with -----BEGIN CERTIFICATE-----"));
    }
    Ok(text)
}

/// Makes the client for an address; `ca` is what it trusts beside the authorities that the system knows.
pub(super) fn client(url: &str, ca: Option<&str>) -> Result<Client, CliError> {
    // A second install of the same provider is refused, which is as good.
    let _ = rustls::crypto::ring::default_provider().install_default();
    let secured = url.starts_with("https:");
    let own = ca.map(|pem| Certificate::from_pem_bundle(pem.as_bytes())).transpose();
    let own = own
        .map_err(|_| CliError::input("the certificate that this home keeps of its service cannot be read"))?;
    let own = own.unwrap_or_default();
    let made = builder().tls_certs_merge(own).build();
    // A system without a list of authorities is no reason not to speak plain HTTP.
    let made = if secured { made } else { made.or_else(|_| builder().tls_certs_only([]).build()) };
    made.map_err(|e| {
        let why = causes(&e).last().map_or_else(|| e.to_string(), ToString::to_string);
        CliError::input(format!("TLS cannot be used on this device: {why}")).hint(
            "install the system's list of authorities (`ca-certificates` on many systems), or name the service's \
             certificate with --ca FILE",
        )
    })
}

fn builder() -> ClientBuilder {
    // A secret goes with every request: it is not carried on to wherever an answer points.
    Client::builder()
        .redirect(Policy::none())
        .connect_timeout(Duration::from_secs(10))
        .timeout(Duration::from_secs(120))
        // The service closes a connection that was idle for longer; asking on one just then would break off.
        .pool_idle_timeout(Duration::from_secs(5))
        .user_agent(concat!("sheaf/", env!("CARGO_PKG_VERSION")))
}

/// Says that an address sends on to another, which is not followed.
pub(super) fn sent_on(url: &str, to: &str) -> CliError {
    let place =
        reqwest::Url::parse(to).map_or_else(|_| to.to_owned(), |to| to.origin().ascii_serialization());
    CliError::out_of_reach(format!("{url} sends on to {place}")).hint(
        "if that is your team's service, type its address instead; if not, does this network ask you to log in first? \
         What you recorded is kept",
    )
}

/// Says what was wrong with the TLS of an address; nothing where that was not the trouble.
pub(super) fn told(url: &str, e: &reqwest::Error) -> Option<CliError> {
    let trouble = causes(e).find_map(|cause| cause.downcast_ref::<rustls::Error>().cloned())?;
    let (what, hint) = match trouble {
        rustls::Error::InvalidCertificate(why) => certificate(url, &why),
        rustls::Error::InvalidMessage(_) => (
            "answers, but not in TLS".into(),
            format!(
                "does it speak plain HTTP? Then it is reached by `http{}`",
                url.trim_start_matches("https")
            ),
        ),
        other => (
            format!("and this device do not agree on TLS ({other})"),
            "who runs the service finds more in its log".into(),
        ),
    };
    let hint = format!("{hint}. What you recorded is kept");
    Some(CliError::out_of_reach(format!("{url} {what}")).hint(hint))
}

fn certificate(url: &str, why: &CertificateError) -> (String, String) {
    let clock =
        "is the clock of this device right? If it is, who runs the service has to renew the certificate";
    let (what, hint): (String, String) = match why {
        // A certificate that its keeper made anew has the old one's name, and not its signature.
        CertificateError::UnknownIssuer | CertificateError::BadSignature => (
            "shows a certificate that nobody vouches for whom this device trusts".into(),
            format!(
                "nothing was sent. If the service's keeper made the certificate, or made it anew, let the keeper hand \
                 you the file (cert.pem) and name it once with --ca: `sheaf connect {url} --ca cert.pem` on a device \
                 that is in the team; to come in, put `--ca cert.pem` behind what you typed. If not, somebody may \
                 stand in between: do not go on in this network"
            ),
        ),
        CertificateError::Expired | CertificateError::ExpiredContext { .. } => {
            ("shows a certificate that has expired".into(), clock.into())
        }
        CertificateError::NotValidYet | CertificateError::NotValidYetContext { .. } => {
            ("shows a certificate that is not valid yet".into(), clock.into())
        }
        CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. } => (
            format!("shows a certificate of another name{}", names(why)),
            "take the name that the certificate is for, or have its keeper make one for this name or address"
                .into(),
        ),
        // The library gives this one no name of its own.
        other if format!("{other:?}").contains("CaUsedAsEndEntity") => (
            "shows the certificate of an authority, where one of a service belongs".into(),
            "who runs the service makes another, with `-addext basicConstraints=critical,CA:FALSE` where openssl makes \
             it; deploy/README.md of Sheaf has the whole line"
                .into(),
        ),
        other => (
            format!("shows a certificate that cannot be used ({other})"),
            "who runs the service has to make another; deploy/README.md of Sheaf says how".into(),
        ),
    };
    (what, hint)
}

/// Returns the names that a certificate is for, where they are known.
fn names(why: &CertificateError) -> String {
    match why {
        CertificateError::NotValidForNameContext { presented, .. } if !presented.is_empty() => {
            format!(": it is for {}", presented.iter().map(|name| bare(name)).collect::<Vec<_>>().join(", "))
        }
        _ => String::new(),
    }
}

/// Takes a name out of the words that the library puts around it, as in `DnsName("range.example")`.
fn bare(name: &str) -> &str {
    let held = name.split_once('(').and_then(|(_, held)| held.strip_suffix(')'));
    held.unwrap_or(name).trim_matches('"')
}

fn causes<'a>(e: &'a reqwest::Error) -> impl Iterator<Item = &'a (dyn Error + 'static)> {
    std::iter::successors(e.source(), |cause: &&'a (dyn Error + 'static)| {
        // What an input or output error holds does not count as its source.
        match cause.downcast_ref::<io::Error>().and_then(io::Error::get_ref) {
            Some(held) => Some(held as &(dyn Error + 'static)),
            None => (**cause).source(),
        }
    })
}
