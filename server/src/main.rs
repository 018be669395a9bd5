//! The program `sheafd`: flags, listener, real clock, signals; then the service.

mod args;

use args::{Args, Command, Log, Serve};
use rustix::{fs::Mode, process};
use sheaf_server::{
    Backup, Clock, Config, Server, ServerError, TeamReport, Tls, backup, check, key_path, known_founding_key,
    rebuild, restore,
};
use std::{
    fs, io, io::Write as _, net::SocketAddr, os::unix::fs::PermissionsExt as _, path::Path, process::ExitCode,
};
use tokio::{
    net::TcpListener,
    signal::unix::{SignalKind, signal},
};
use tracing_subscriber::EnvFilter;

fn main() -> ExitCode {
    // Journal, index, key and backups hold what nobody else on this machine has to read.
    process::umask(Mode::RWXG | Mode::RWXO);
    let done = match Args::read().command {
        Command::Serve(serve) => run(&serve).map(|()| true),
        Command::Key(key) => show_key(&key.folder()).map(|()| true),
        Command::Check(asked) => look(&asked.data.folder(), asked.json),
        Command::Rebuild(data) => make_anew(&data.folder()).map(|()| true),
        Command::Backup(asked) => back_up(&asked.data.folder(), &asked.file).map(|()| true),
        Command::Restore(asked) => bring_back(&asked.data.folder(), &asked.file).map(|()| true),
    };
    match done {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(e) => {
            eprintln!("sheafd: {e}");
            ExitCode::FAILURE
        }
    }
}

type Failed = Box<dyn std::error::Error>;

fn show_key(data: &Path) -> Result<(), Failed> {
    let key = known_founding_key(data)?.ok_or_else(|| {
        format!(
            "no service has run in {} yet, so there is no key; start one with `sheafd serve`, or name the folder of the \
             one that runs with --data FOLDER",
            data.display()
        )
    })?;
    writeln!(std::io::stdout(), "{key}")?;
    Ok(())
}

/// Checks the store and prints what was found; returns whether it is sound.
fn look(data: &Path, json: bool) -> Result<bool, Failed> {
    let report = check(data)?;
    let text = if json { serde_json::to_string(&report)? } else { report.to_string() };
    writeln!(std::io::stdout(), "{text}")?;
    Ok(report.sound)
}

fn make_anew(data: &Path) -> Result<(), Failed> {
    show_teams("the index was made anew from the journal", &rebuild(data)?)
}

fn back_up(data: &Path, file: &Path) -> Result<(), Failed> {
    let Backup { entries, acts, bytes } = backup(data, file)?;
    writeln!(
        std::io::stdout(),
        "{} holds {entries} entries and {acts} acts of access in {bytes} bytes; keep it where only you read it",
        file.display()
    )?;
    Ok(())
}

fn bring_back(data: &Path, file: &Path) -> Result<(), Failed> {
    let teams = restore(data, file)?;
    show_teams(&format!("{} was restored into {}", file.display(), data.display()), &teams)?;
    if !key_path(data).exists() {
        writeln!(
            std::io::stdout(),
            "the founding key is not in a backup: a new one is made at the first start"
        )?;
    }
    Ok(())
}

fn show_teams(what: &str, teams: &[TeamReport]) -> Result<(), Failed> {
    let mut out = std::io::stdout();
    writeln!(out, "{what}")?;
    for team in teams {
        writeln!(out, "{team}")?;
    }
    Ok(())
}

fn run(args: &Serve) -> Result<(), Failed> {
    start_log(args.log);
    tokio::runtime::Builder::new_multi_thread().enable_all().build()?.block_on(serve(args))
}

/// Adds to an address that is none how one is written.
fn told_how(e: io::Error) -> io::Error {
    use io::ErrorKind::{AddrInUse, AddrNotAvailable, PermissionDenied};
    match e.kind() {
        AddrInUse | AddrNotAvailable | PermissionDenied => e,
        kind => io::Error::new(kind, format!("{e}; write it as ADDRESS:PORT, for example 0.0.0.0:7433")),
    }
}

async fn serve(args: &Serve) -> Result<(), Failed> {
    let data = args.data.folder();
    let mut terminate = signal(SignalKind::terminate())?;
    let mut interrupt = signal(SignalKind::interrupt())?;
    let mut config = Config::new(&data);
    config.tls = tls(args)?;
    config.page = !args.no_page;
    let secured = config.tls.is_some();
    args.limit.iter().try_for_each(|(name, to)| config.set_limit(name, *to))?;
    let server = Server::open(config, Clock::System).await?;
    let listener = TcpListener::bind(&args.listen).await.map_err(|source| ServerError::Io {
        doing: "listen on",
        path: args.listen.clone().into(),
        source: told_how(source),
    })?;
    let address = listener.local_addr()?;
    if let Some(file) = &args.port_file {
        write_whole(file, address)?;
    }
    announce(args, &data, address, secured)?;
    server
        .run(listener, async move {
            tokio::select! {
                _ = terminate.recv() => {}
                _ = interrupt.recv() => {}
            }
        })
        .await?;
    tracing::info!("stopped");
    Ok(())
}

/// Reads certificate and key where they are given, and again whenever SIGHUP says so.
fn tls(args: &Serve) -> Result<Option<Tls>, Failed> {
    let (Some(cert), Some(key)) = (&args.tls_cert, &args.tls_key) else { return Ok(None) };
    let tls = Tls::read(cert, key)?;
    let (again, mut hangup) = (tls.clone(), signal(SignalKind::hangup())?);
    tokio::spawn(async move {
        while hangup.recv().await.is_some() {
            match again.read_again() {
                Ok(()) => tracing::info!("certificate and key were read again, for the connections to come"),
                Err(e) => tracing::error!(error = %e, "certificate and key stay as they were"),
            }
        }
    });
    Ok(Some(tls))
}

/// Says where the service listens, and what its keeper ought to know of that.
fn announce(args: &Serve, data: &Path, address: SocketAddr, secured: bool) -> Result<(), Failed> {
    let scheme = if secured { "https" } else { "http" };
    let mut said = format!(
        "sheafd listens on {scheme}://{address}; the founding key is in {} (`sheafd key{}` prints it)\n",
        key_path(data).display(),
        args.data.words()
    );
    tracing::info!(%address, scheme, data = %data.display(), version = env!("CARGO_PKG_VERSION"), "listening");
    if !secured && !address.ip().to_canonical().is_loopback() {
        let warning = "records and tokens cross the network in the clear, unless a proxy with TLS stands before the \
                       service; `--tls-cert` and `--tls-key` turn TLS on here";
        said.push_str(&format!("warning: {warning}\n"));
        tracing::warn!("{warning}");
    }
    let open = fs::metadata(data).is_ok_and(|folder| folder.permissions().mode() & 0o077 != 0);
    if open {
        let data = data.display();
        tracing::warn!(
            "others on this machine can look into {data}, which holds all records: chmod -R go= {data}"
        );
    }
    if process::geteuid().is_root() {
        tracing::warn!("the service runs as root and needs nothing of that: give it a user of its own");
    }
    // In one go: whoever reads the first line may close the pipe behind it.
    let mut out = std::io::stdout();
    out.write_all(said.as_bytes())?;
    out.flush()?;
    Ok(())
}

/// Writes the address so that nobody ever reads half of it.
fn write_whole(file: &Path, address: SocketAddr) -> Result<(), Failed> {
    let failed = |source| ServerError::Io { doing: "write the address to", path: file.to_owned(), source };
    let draft = file.with_extension(format!("{}.tmp", std::process::id()));
    fs::write(&draft, format!("{address}\n")).map_err(failed)?;
    fs::rename(&draft, file).map_err(failed)?;
    Ok(())
}

fn start_log(log: Log) {
    let filter =
        EnvFilter::try_from_env("SHEAFD_LOG_FILTER").unwrap_or_else(|_| EnvFilter::new("info,sled=warn"));
    let builder = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr);
    match log {
        Log::Text => builder.with_ansi(false).init(),
        Log::Json => builder.json().init(),
    }
}
