//! The flags of `sheafd`.

use clap::{Parser, Subcommand, ValueEnum};
use std::{env, path::PathBuf};

/// Keeps the entries of Sheaf's teams and hands them on.
///
/// `sheafd serve` needs no configuration. A team moves onto the service with its founding key, which
/// `sheafd key` prints: `sheaf connect http://127.0.0.1:7433 --key KEY`. Devices then come in by invite.
/// Before it leaves this machine, give it a certificate (--tls-cert and --tls-key), or put it behind a proxy that
/// speaks TLS.
#[derive(Debug, Parser)]
#[command(name = "sheafd", version, arg_required_else_help = true)]
pub struct Args {
    #[command(subcommand)]
    pub command: Command,
}

impl Args {
    /// Reads the flags of this process; help, version and mistakes end it.
    pub fn read() -> Self {
        Self::parse()
    }
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Runs the service until SIGTERM or SIGINT; with --tls-cert, on SIGHUP it reads certificate and key again.
    Serve(Serve),
    /// Prints the founding key, with which a team moves onto this service.
    Key(Data),
    /// Checks every line of the journal, every chain of entries and every row of the index.
    ///
    /// Ends with 0 when all is sound and with 1 when something is wrong. Nothing is changed. While a service
    /// runs over the folder, only the journal is read.
    Check(Check),
    /// Makes the index anew from the journal, which is only read; the service must be stopped.
    Rebuild(Data),
    /// Writes everything the service holds to one sealed file, while it serves or not.
    Backup(InFile),
    /// Makes an empty data folder what it was when a backup was made.
    Restore(InFile),
}

#[derive(Debug, clap::Args)]
pub struct Check {
    #[command(flatten)]
    pub data: Data,
    /// Print what was found as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, clap::Args)]
pub struct InFile {
    #[command(flatten)]
    pub data: Data,
    /// The file of the backup.
    pub file: PathBuf,
}

#[derive(Debug, clap::Args)]
pub struct Serve {
    #[command(flatten)]
    pub data: Data,
    /// Address to listen on, with its port; 0.0.0.0 and [::] are all of the machine's, port 0 takes a free one.
    #[arg(long, value_name = "ADDRESS", env = "SHEAFD_LISTEN", default_value = "127.0.0.1:7433")]
    pub listen: String,
    /// File with the service's certificate and those that it builds on, in PEM: the service speaks https then.
    #[arg(long, value_name = "FILE", env = "SHEAFD_TLS_CERT", requires = "tls_key")]
    pub tls_cert: Option<PathBuf>,
    /// File with the private key of the certificate, in PEM.
    #[arg(long, value_name = "FILE", env = "SHEAFD_TLS_KEY", requires = "tls_cert")]
    pub tls_key: Option<PathBuf>,
    /// File to write the real address to once the service listens.
    #[arg(long, value_name = "FILE")]
    pub port_file: Option<PathBuf>,
    /// Serves the interface alone, without the page for phones at /.
    #[arg(long)]
    pub no_page: bool,
    /// Sets a limit, for example `--limit device_requests=5000`; a name that is none says which there are.
    #[arg(long, value_name = "NAME=NUMBER", value_parser = limit)]
    pub limit: Vec<(String, u64)>,
    /// How to write the log, which goes to standard error; SHEAFD_LOG_FILTER says what of it, for example
    /// `debug`.
    #[arg(long, value_enum, env = "SHEAFD_LOG", default_value = "text")]
    pub log: Log,
}

/// Reads a limit that is set.
fn limit(text: &str) -> Result<(String, u64), String> {
    let (name, to) = text.split_once('=').ok_or("write it as NAME=NUMBER")?;
    let to = to.parse().map_err(|_| format!("`{to}` is no whole number"))?;
    Ok((name.to_owned(), to))
}

#[derive(Debug, clap::Args)]
pub struct Data {
    /// Folder for journal, index and founding key [default: sheafd in the user's folder for data].
    #[arg(long, value_name = "FOLDER", env = "SHEAFD_DATA")]
    data: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Log {
    /// Lines for people.
    Text,
    /// A JSON object a line.
    Json,
}

impl Data {
    /// Returns the data folder: as given, or by the XDG base directory specification.
    pub fn folder(&self) -> PathBuf {
        self.data.clone().unwrap_or_else(Self::usual)
    }

    /// Returns what has to be typed for the same folder: nothing for the usual one.
    pub fn words(&self) -> String {
        match self.data.as_ref().filter(|data| **data != Self::usual()) {
            None => String::new(),
            Some(data) => {
                let text = data.display().to_string();
                let plain = text.chars().all(|c| c.is_alphanumeric() || "/._-+:@%,".contains(c));
                // A quote inside ends the quoted text, stands for itself, and begins it again.
                let quote = || format!("'{}'", text.replace('\'', "'\\''"));
                format!(" --data {}", if plain { text.clone() } else { quote() })
            }
        }
    }

    fn usual() -> PathBuf {
        let set = |name| env::var_os(name).map(PathBuf::from).filter(|p| p.is_absolute());
        let base = set("XDG_DATA_HOME").or_else(|| set("HOME").map(|home| home.join(".local/share")));
        base.unwrap_or_else(|| PathBuf::from(".")).join("sheafd")
    }
}
