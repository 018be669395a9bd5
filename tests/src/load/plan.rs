//! What is to be loaded and for how long.

use std::{
    path::{Path, PathBuf},
    time::Duration,
};

/// How a run goes.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The program of the service.
    pub sheafd: PathBuf,
    /// Where the data folder is made, and removed at the end: this disk is measured.
    pub folder: PathBuf,
    /// How many groups the service holds before it is measured.
    pub groups: usize,
    /// Among how many teams they are shared out.
    pub teams: usize,
    /// How many devices a team has.
    pub mates: usize,
    /// How many devices exchange at one time, once for each number.
    pub devices: Vec<usize>,
    /// How long they do.
    pub time: Duration,
}

impl Plan {
    /// Returns the usual run with a program of the service, over a disk.
    pub fn usual(sheafd: PathBuf, folder: &Path) -> Self {
        Self {
            sheafd,
            folder: folder.to_owned(),
            groups: 1_000_000,
            teams: 200,
            mates: 5,
            devices: vec![1, 64, 1000],
            time: Duration::from_secs(10),
        }
    }

    /// Reads the words of a command line: `--groups`, `--teams`, `--mates`, `--devices 1,64`, `--seconds`, `--folder`.
    ///
    /// # Errors
    /// The word that is not understood, with what can be said instead.
    pub fn read(words: impl Iterator<Item = String>) -> Result<Self, String> {
        let here = std::env::current_exe().map_err(|e| format!("this program has no path: {e}"))?;
        let beside = here.parent().unwrap_or(Path::new("."));
        let mut plan = Self::usual(beside.join("sheafd"), beside);
        let mut words = words;
        while let Some(word) = words.next() {
            let value = words.next().ok_or_else(|| format!("{word} needs a value"))?;
            match word.as_str() {
                "--groups" => plan.groups = number(&value)?,
                "--teams" => plan.teams = number(&value)?,
                "--mates" => plan.mates = number(&value)?,
                "--seconds" => plan.time = Duration::from_secs(number(&value)? as u64),
                "--devices" => plan.devices = value.split(',').map(number).collect::<Result<_, _>>()?,
                "--folder" => plan.folder = value.into(),
                _ => {
                    return Err(format!(
                        "{word} is unknown; say --groups, --teams, --mates, --devices, --seconds or --folder"
                    ));
                }
            }
        }
        plan.fits().map(|()| plan)
    }

    fn fits(&self) -> Result<(), String> {
        let all = self.teams * self.mates;
        match self.devices.iter().find(|n| **n > all || **n == 0) {
            Some(n) => Err(format!("{n} devices cannot be taken of {all}; raise --teams or --mates")),
            None => Ok(()),
        }
    }
}

fn number(text: &str) -> Result<usize, String> {
    text.parse().map_err(|_| format!("`{text}` is no whole number"))
}
