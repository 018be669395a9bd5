//! Everything that a command may touch of the world.

use crate::CliError;
use jiff::tz::TimeZone;
use serde::Serialize;
use sheaf_model::id::{DeviceId, TeamId, ThingId};
use std::{
    io::{BufRead, Write},
    path::PathBuf,
};

/// The world of a command: passed in, so that a test can be the world.
pub struct Env<'a> {
    /// Where answers go.
    pub out: &'a mut dyn Write,
    /// Where remarks and errors go.
    pub err: &'a mut dyn Write,
    /// What is typed.
    pub input: &'a mut dyn BufRead,
    /// The wall clock: milliseconds since 1970.
    pub clock: &'a dyn Fn() -> u64,
    /// The time zone in which times are typed and shown.
    pub zone: TimeZone,
    /// Fills bytes at random.
    pub entropy: &'a mut dyn FnMut(&mut [u8]),
    /// The folder of the replica, unless `--home` names another.
    pub home: PathBuf,
    /// What this device is called unless the user says otherwise.
    pub device_name: String,
    /// Whether colours may be used.
    pub colour: bool,
    /// Columns of the terminal.
    pub width: usize,
    /// Whether answers go to a terminal.
    pub terminal: bool,
    /// Whether a person sits at the input and can be asked.
    pub interactive: bool,
    /// Whether `--json` was given.
    pub json: bool,
}

impl Env<'_> {
    /// Returns the wall clock: milliseconds since 1970.
    pub fn now_ms(&self) -> u64 {
        (self.clock)()
    }

    /// Makes a new id for a thing.
    pub fn thing_id(&mut self) -> ThingId {
        let (now, entropy) = self.fresh();
        ThingId::new(now, entropy)
    }

    /// Makes a new id for a device.
    pub fn device_id(&mut self) -> DeviceId {
        let (now, entropy) = self.fresh();
        DeviceId::new(now, entropy)
    }

    /// Makes a new id for a team.
    pub fn team_id(&mut self) -> TeamId {
        let (now, entropy) = self.fresh();
        TeamId::new(now, entropy)
    }

    /// Prints a value as JSON on lines of its own.
    pub fn print_json(&mut self, value: &impl Serialize) -> Result<(), CliError> {
        let text = serde_json::to_string_pretty(value)
            .map_err(|e| CliError::bug(format!("the answer cannot be written as JSON: {e}")))?;
        Ok(writeln!(self.out, "{text}")?)
    }

    /// Makes a remark that is no part of the answer.
    pub fn remark(&mut self, text: impl std::fmt::Display) -> Result<(), CliError> {
        let text = crate::render::fitted(&crate::render::tame(&text.to_string()), self.width);
        Ok(writeln!(self.err, "{text}")?)
    }

    /// Says what to take care of, where something can hurt.
    pub fn caution(&mut self, text: &str) -> Result<(), CliError> {
        self.remark(format!("Care: {text}"))
    }

    fn fresh(&mut self) -> (u64, [u8; 10]) {
        let mut bytes = [0; 10];
        (self.entropy)(&mut bytes);
        (self.now_ms(), bytes)
    }
}
