//! Reads what strace recorded of a program: every change to files below a folder, every sync, and what the program
//! said, in order.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

/// The calls that a recording needs.
pub const CALLS: &str = "openat,creat,lseek,write,pwrite64,writev,pwritev,pwritev2,sendto,sendmsg,ftruncate,truncate,\
    fallocate,copy_file_range,sendfile,fsync,fdatasync,rename,renameat,renameat2,unlink,unlinkat,mkdir,mkdirat,rmdir,\
    link,linkat";

/// Something that a program did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// A call that is still going on, or that changes nothing here.
    Nothing,
    /// A file was made, where there was none.
    Make(PathBuf),
    /// A folder was made.
    MakeFolder(PathBuf),
    /// Bytes were written at an offset, or at the end.
    Write(PathBuf, Option<u64>, Vec<u8>),
    /// A file was given a length.
    Length(PathBuf, u64),
    /// A file or a folder was synced: what was done before the event of this number is on the disk.
    Sync(PathBuf, usize),
    /// A name was moved.
    Rename(PathBuf, PathBuf),
    /// A file got another name.
    Link(PathBuf, PathBuf),
    /// A name was removed.
    Remove(PathBuf),
    /// Bytes went to a socket or a pipe, by its name.
    Said(String, Vec<u8>),
}

/// Reads a recording; a call that it cannot follow is an error.
pub fn read(text: &str, root: &Path) -> Result<Vec<Event>, String> {
    let mut reader = Reader { root, events: Vec::new(), open: BTreeMap::new(), at: BTreeMap::new() };
    for line in text.lines() {
        reader.line(line).map_err(|why| {
            format!("the recording cannot be read: {why}: {}", line.chars().take(300).collect::<String>())
        })?;
    }
    Ok(reader.events)
}

struct Reader<'a> {
    root: &'a Path,
    events: Vec<Event>,
    /// The calls that threads are in: the number of their event and their text so far.
    open: BTreeMap<String, (usize, String)>,
    /// Where a descriptor stands in its file; `None` for one that appends.
    at: BTreeMap<String, Option<u64>>,
}

impl Reader<'_> {
    fn line(&mut self, line: &str) -> Result<(), String> {
        let (thread, call) = line.split_once(' ').ok_or("no thread")?;
        let call = call.trim_start();
        if call.starts_with("+++") || call.starts_with("---") {
            return Ok(());
        }
        if let Some(begun) = call.strip_suffix(" <unfinished ...>") {
            self.open.insert(thread.to_owned(), (self.events.len(), begun.to_owned()));
            self.events.push(Event::Nothing);
            return Ok(());
        }
        let (begun, whole) = match call.strip_prefix("<... ") {
            Some(rest) => {
                let (begun, text) = self.open.remove(thread).ok_or("a call ends that did not begin")?;
                let rest = rest.split_once(" resumed>").ok_or("a call ends oddly")?.1;
                (begun, text + rest)
            }
            None => {
                self.events.push(Event::Nothing);
                (self.events.len() - 1, call.to_owned())
            }
        };
        let event = self.call(&whole, begun)?;
        match event {
            Event::Nothing => {}
            // Written from the moment the call began; anything else has happened once it is over.
            Event::Write(..) | Event::Said(..) => self.events[begun] = event,
            _ => self.events.push(event),
        }
        Ok(())
    }

    fn call(&mut self, whole: &str, begun: usize) -> Result<Event, String> {
        let (call, result) = whole.rsplit_once(" = ").ok_or("a call without a result")?;
        let (name, args) = call.split_once('(').ok_or("no call")?;
        let args = split(args.trim_end().strip_suffix(')').ok_or("a call without an end")?);
        let arg = |n: usize| args.get(n).map(String::as_str).ok_or("an argument is missing");
        if result.starts_with('-') || result.starts_with('?') {
            return Ok(Event::Nothing);
        }
        let done =
            || result.split([' ', '<']).next().unwrap_or_default().parse::<u64>().map_err(|e| e.to_string());
        match name {
            "openat" => self.opened(result, arg(2)?),
            "lseek" => {
                self.at.insert(number(arg(0)?).to_owned(), Some(done()?));
                Ok(Event::Nothing)
            }
            "write" | "sendto" => self.wrote(arg(0)?, None, quoted(arg(1)?)?, done()?),
            "writev" => self.wrote(arg(0)?, None, vectors(arg(1)?)?, done()?),
            "pwrite64" => self.wrote(arg(0)?, Some(plain(arg(3)?)?), quoted(arg(1)?)?, done()?),
            "ftruncate" => Ok(self
                .mine(of(arg(0)?)?)
                .map_or(Event::Nothing, |p| Event::Length(p, plain(arg(1).unwrap_or("0")).unwrap_or(0)))),
            "fsync" | "fdatasync" => {
                Ok(self.mine(of(arg(0)?)?).map_or(Event::Nothing, |p| Event::Sync(p, begun)))
            }
            "mkdir" => self.named(arg(0)?, Event::MakeFolder),
            "unlink" | "rmdir" => self.named(arg(0)?, Event::Remove),
            "unlinkat" => {
                let folder = of(arg(0)?)?;
                Ok(self.mine(folder.join(text(arg(1)?)?)).map_or(Event::Nothing, Event::Remove))
            }
            "rename" => self.pair(arg(0)?, arg(1)?, Event::Rename),
            "linkat" => self.pair(arg(1)?, arg(3)?, Event::Link),
            // A message to another thread, or a call that no program here is known to make on its files.
            _ if !args.iter().any(|a| unhex(a).contains(&*self.root.to_string_lossy())) => Ok(Event::Nothing),
            _ => Err(format!("`{name}` is not followed")),
        }
    }

    fn opened(&mut self, result: &str, flags: &str) -> Result<Event, String> {
        let path = of(result)?;
        let append = flags.contains("O_APPEND");
        self.at.insert(number(result).to_owned(), if append { None } else { Some(0) });
        let Some(path) = self.mine(path) else { return Ok(Event::Nothing) };
        if flags.contains("O_CREAT") {
            self.events.push(Event::Make(path.clone()));
        }
        Ok(if flags.contains("O_TRUNC") { Event::Length(path, 0) } else { Event::Nothing })
    }

    fn wrote(&mut self, to: &str, at: Option<u64>, mut bytes: Vec<u8>, done: u64) -> Result<Event, String> {
        bytes.truncate(usize::try_from(done).unwrap_or(usize::MAX));
        let path = of(to)?;
        let Some(path) = self.mine(path.clone()) else {
            return Ok(Event::Said(path.display().to_string(), bytes));
        };
        let own = self.at.entry(number(to).to_owned()).or_default();
        let place = at.or(*own);
        if at.is_none()
            && let Some(place) = own
        {
            *place += done;
        }
        Ok(Event::Write(path, place, bytes))
    }

    fn named(&self, arg: &str, event: fn(PathBuf) -> Event) -> Result<Event, String> {
        Ok(self.mine(PathBuf::from(text(arg)?)).map_or(Event::Nothing, event))
    }

    fn pair(&self, from: &str, to: &str, event: fn(PathBuf, PathBuf) -> Event) -> Result<Event, String> {
        let (from, to) = (self.mine(PathBuf::from(text(from)?)), self.mine(PathBuf::from(text(to)?)));
        Ok(from.zip(to).map_or(Event::Nothing, |(from, to)| event(from, to)))
    }

    /// Returns the path below the root, if it lies there.
    fn mine(&self, path: PathBuf) -> Option<PathBuf> {
        path.strip_prefix(self.root).ok().map(Path::to_owned)
    }
}

/// Splits arguments at the commas that stand in no brackets; all text is in hex, so none stands in a string.
fn split(args: &str) -> Vec<String> {
    let (mut parts, mut depth) = (vec![String::new()], 0);
    for c in args.chars() {
        match c {
            '[' | '{' => depth += 1,
            ']' | '}' => depth -= 1,
            _ => {}
        }
        match parts.last_mut() {
            _ if c == ',' && depth == 0 => parts.push(String::new()),
            Some(part) => part.push(c),
            None => {}
        }
    }
    parts.iter().map(|part| part.trim().to_owned()).collect()
}

fn unhex(text: &str) -> String {
    let mut bytes = Vec::with_capacity(text.len() / 4);
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let byte = rest.strip_prefix("\\x").and_then(|hex| u8::from_str_radix(hex.get(..2)?, 16).ok());
        let taken = if byte.is_some() { 4 } else { c.len_utf8() };
        match byte {
            Some(byte) => bytes.push(byte),
            None => bytes.extend_from_slice(&rest.as_bytes()[..taken]),
        }
        rest = &rest[taken..];
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Returns the bytes of a string in quotes.
fn quoted(text: &str) -> Result<Vec<u8>, String> {
    let inner = text.strip_prefix('"').and_then(|t| t.strip_suffix('"')).ok_or("a string is cut short")?;
    let bytes = inner.split("\\x").skip(1).map(|hex| u8::from_str_radix(hex, 16));
    bytes.collect::<Result<_, _>>().map_err(|e| e.to_string())
}

fn vectors(text: &str) -> Result<Vec<u8>, String> {
    let parts = text.split("iov_base=").skip(1).map(|part| {
        let end = part.find(", iov_len").ok_or("a vector is cut short")?;
        quoted(&part[..end])
    });
    Ok(parts.collect::<Result<Vec<_>, _>>()?.concat())
}

fn text(arg: &str) -> Result<String, String> {
    String::from_utf8(quoted(arg)?).map_err(|e| e.to_string())
}

/// Returns what a descriptor is of.
fn of(descriptor: &str) -> Result<PathBuf, String> {
    let path = descriptor.split_once('<').and_then(|(_, rest)| Some(rest.rsplit_once('>')?.0));
    path.map(|path| PathBuf::from(unhex(path))).ok_or(format!("`{descriptor}` is no descriptor"))
}

fn number(descriptor: &str) -> &str {
    descriptor.split('<').next().unwrap_or_default()
}

fn plain(arg: &str) -> Result<u64, String> {
    arg.parse().map_err(|_| format!("`{arg}` is no number"))
}
