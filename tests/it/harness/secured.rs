//! A real `sheafd` that speaks TLS, the certificates for it, and a client that shows what TLS came to.

use super::programs::program;
use rcgen::{CertificateParams, KeyPair};
use rustls::{
    ClientConfig, ClientConnection, RootCertStore, StreamOwned, SupportedProtocolVersion,
    crypto::ring,
    pki_types::{CertificateDer, ServerName, pem::PemObject},
};
use std::{
    fs,
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    sync::{Arc, mpsc},
    time::Duration,
};
use tempfile::TempDir;

/// Longer than anything takes that is going to happen.
pub const LONG: Duration = Duration::from_secs(60);

/// A certificate with its key, in PEM.
#[derive(Clone)]
pub struct Papers {
    /// The certificate, and what it builds on.
    pub cert: String,
    /// The private key.
    pub key: String,
}

impl Papers {
    /// Makes a certificate that vouches for itself.
    pub fn new(names: &[&str]) -> Self {
        Self::of(params(names))
    }

    /// Makes a certificate that vouches for itself, of this kind.
    pub fn of(params: CertificateParams) -> Self {
        let key = KeyPair::generate().expect("a key");
        let cert = params.self_signed(&key).expect("a certificate");
        Self { cert: cert.pem(), key: key.serialize_pem() }
    }

    /// Writes `cert.pem` and `key.pem`, the key for its owner alone.
    pub fn write(&self, folder: &Path) {
        use std::os::unix::fs::PermissionsExt as _;
        fs::write(folder.join("cert.pem"), &self.cert).expect("it can be written");
        fs::write(folder.join("key.pem"), &self.key).expect("it can be written");
        fs::set_permissions(folder.join("key.pem"), fs::Permissions::from_mode(0o600)).expect("its mode");
    }
}

/// Returns what a certificate of these names says.
pub fn params(names: &[&str]) -> CertificateParams {
    CertificateParams::new(names.iter().map(ToString::to_string).collect::<Vec<_>>()).expect("names")
}

/// A service with TLS, started by its flags, whose log is heard.
pub struct Secured {
    folder: TempDir,
    child: Child,
    /// What it printed first.
    pub said: String,
    address: String,
    log: mpsc::Receiver<String>,
}

impl Secured {
    /// Starts the service with a certificate.
    pub fn start(papers: &Papers) -> Self {
        Self::listening(Some(papers), "127.0.0.1:0")
    }

    /// Starts the service on an address, with a certificate or without.
    pub fn listening(papers: Option<&Papers>, on: &str) -> Self {
        let folder = TempDir::new().expect("a folder");
        let mut command = Command::new(program("sheafd"));
        command.args(["serve", "--listen", on, "--data"]).arg(folder.path().join("data"));
        command.arg("--port-file").arg(folder.path().join("address"));
        if let Some(papers) = papers {
            papers.write(folder.path());
            command.arg("--tls-cert").arg(folder.path().join("cert.pem"));
            command.arg("--tls-key").arg(folder.path().join("key.pem"));
        }
        command.env_remove("SHEAFD_LOG").env_remove("SHEAFD_LOG_FILTER");
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it starts");
        let mut said = String::new();
        let mut out = BufReader::new(child.stdout.take().expect("its output"));
        out.read_line(&mut said).expect("it says that it listens");
        let (tell, log) = mpsc::channel();
        let err = BufReader::new(child.stderr.take().expect("its log"));
        std::thread::spawn(move || {
            err.lines().map_while(Result::ok).for_each(|line| tell.send(line).unwrap_or_default());
        });
        std::thread::spawn(move || out.read_to_end(&mut Vec::new()));
        let address = fs::read_to_string(folder.path().join("address")).expect("the port file");
        Self { child, said, address: address.trim().to_owned(), folder, log }
    }

    /// Returns a path in its folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Returns the address without a scheme.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// Returns the https address of it.
    pub fn url(&self) -> String {
        format!("https://{}", self.address)
    }

    /// Returns the founding key.
    pub fn key(&self) -> String {
        fs::read_to_string(self.path("data/founding-key")).expect("the key").trim().to_owned()
    }

    /// Sends it a signal.
    pub fn signal(&self, name: &str) {
        let done = Command::new("kill").args(["-s", name, &self.child.id().to_string()]).status();
        assert!(done.expect("kill runs").success());
    }

    /// Waits for a line of its log that holds these words.
    #[track_caller]
    pub fn logs(&self, words: &str) -> String {
        let mut last = String::new();
        self.hear(words, &mut |line| last = line.to_owned());
        last
    }

    /// Waits for a line of its log that holds these words and returns those before it.
    #[track_caller]
    pub fn logs_until(&self, words: &str) -> Vec<String> {
        let mut heard = Vec::new();
        self.hear(words, &mut |line| heard.push(line.to_owned()));
        heard.pop();
        heard
    }

    #[track_caller]
    fn hear(&self, words: &str, take: &mut dyn FnMut(&str)) {
        let mut heard = Vec::new();
        while let Ok(line) = self.log.recv_timeout(LONG) {
            take(&line);
            if line.contains(words) {
                return;
            }
            heard.push(line);
        }
        panic!("it never logs `{words}`: {heard:#?}")
    }

    /// Waits for its end and returns whether it ended well.
    pub fn ended_well(&mut self) -> bool {
        self.child.wait().expect("it ends").success()
    }
}

impl Drop for Secured {
    fn drop(&mut self) {
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

/// A connection over TLS.
pub type Wire = StreamOwned<ClientConnection, TcpStream>;

/// Connects to an address and trusts a certificate alone; the handshake is done when this returns.
pub fn connect(
    address: &str,
    trusted: &str,
    versions: &[&'static SupportedProtocolVersion],
) -> std::io::Result<Wire> {
    let mut roots = RootCertStore::empty();
    for der in CertificateDer::pem_slice_iter(trusted.as_bytes()) {
        roots.add(der.expect("a certificate")).expect("it can be trusted");
    }
    let builder = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()));
    let builder = builder.with_protocol_versions(versions).expect("versions");
    let mut config = builder.with_root_certificates(roots).with_no_client_auth();
    config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
    let name = ServerName::try_from("127.0.0.1").expect("a name");
    let mut tls = ClientConnection::new(Arc::new(config), name).expect("a connection");
    let mut socket = TcpStream::connect(address)?;
    socket.set_read_timeout(Some(LONG))?;
    while tls.is_handshaking() {
        tls.complete_io(&mut socket)?;
    }
    Ok(StreamOwned::new(tls, socket))
}

/// Asks whether the service is well and returns the head and body of its answer; the connection stays.
pub fn ask(wire: &mut Wire) -> std::io::Result<String> {
    wire.write_all(b"GET /v1/health HTTP/1.1\r\nhost: x\r\n\r\n")?;
    wire.flush()?;
    let mut heard = Vec::new();
    let mut byte = [0];
    // The body of this answer is one JSON object.
    while !heard.ends_with(b"}") {
        wire.read_exact(&mut byte)?;
        heard.push(byte[0]);
    }
    Ok(String::from_utf8_lossy(&heard).into_owned())
}
