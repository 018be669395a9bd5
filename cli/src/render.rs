//! Tables and numbers as text.

use crate::{CliError, Env};
use std::io;
use unicode_width::UnicodeWidthStr;

pub use sheaf_model::{
    records::plain,
    verdict::{count, decimal as number, thousands},
};

/// Which side a column keeps to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table of text.
#[derive(Debug)]
pub struct Table {
    heads: Vec<(String, Side)>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// Makes a table with these columns.
    pub fn new(heads: &[(&str, Side)]) -> Self {
        Self { heads: heads.iter().map(|(h, s)| ((*h).to_owned(), *s)).collect(), rows: Vec::new() }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        // What others wrote may hold what would steer the terminal.
        self.rows.push(cells.into_iter().map(|cell| cell.replace(char::is_control, " ")).collect());
    }

    /// Returns whether there is no row.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Prints the table; a column that is empty throughout is left out.
    pub fn print(&self, env: &mut Env<'_>) -> io::Result<()> {
        let used: Vec<usize> = (0..self.heads.len())
            .filter(|c| self.rows.iter().any(|row| row.get(*c).is_some_and(|cell| !cell.is_empty())))
            .collect();
        let widths: Vec<usize> = used
            .iter()
            .map(|c| {
                let cells = self.rows.iter().filter_map(|row| row.get(*c));
                cells.map(|cell| cell.width()).chain([self.heads[*c].0.width()]).max().unwrap_or(0)
            })
            .collect();
        let heads: Vec<&str> = used.iter().map(|c| self.heads[*c].0.as_str()).collect();
        let line = self.line(&used, &widths, &heads);
        let line = paint(env, Tone::Quiet, &line);
        writeln!(env.out, "{line}")?;
        for row in &self.rows {
            let cells: Vec<&str> = used.iter().map(|c| row.get(*c).map_or("", String::as_str)).collect();
            writeln!(env.out, "{}", self.line(&used, &widths, &cells))?;
        }
        Ok(())
    }

    fn line(&self, used: &[usize], widths: &[usize], cells: &[&str]) -> String {
        let mut line = String::new();
        for ((column, width), cell) in used.iter().zip(widths).zip(cells) {
            let pad = " ".repeat(width.saturating_sub(cell.width()));
            if !line.is_empty() {
                line.push_str("  ");
            }
            match self.heads[*column].1 {
                Side::Left => line.push_str(&format!("{cell}{pad}")),
                Side::Right => line.push_str(&format!("{pad}{cell}")),
            }
        }
        line.trim_end().to_owned()
    }
}

/// How a piece of text stands out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// What matters most.
    Strong,
    /// What is only there for reference.
    Quiet,
}

/// Returns a text in a tone, where colours may be used.
pub fn paint(env: &Env<'_>, tone: Tone, text: &str) -> String {
    let code = match tone {
        Tone::Strong => 1,
        Tone::Quiet => 2,
    };
    if env.colour { format!("\u{1b}[{code}m{text}\u{1b}[0m") } else { text.to_owned() }
}

/// Returns a text in lines of at most so many columns, broken between words.
pub fn wrapped(text: &str, columns: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let line = lines.last_mut().expect("there is always a line");
        if !line.is_empty() && line.width() + 1 + word.width() > columns {
            lines.push(word.to_owned());
        } else {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

/// Returns a text of several lines without what would steer the terminal: it may hold what others wrote.
pub fn tame(text: &str) -> String {
    text.replace(|c: char| c.is_control() && c != '\n', " ")
}

/// Prints a line in a tone.
pub fn say(env: &mut Env<'_>, tone: Tone, text: &str) -> Result<(), CliError> {
    let text = paint(env, tone, text);
    Ok(writeln!(env.out, "{text}")?)
}

/// Returns a message with its long lines broken between words; what stands between back quotes is kept whole
/// so that a command can be copied.
pub fn fitted(text: &str, columns: usize) -> String {
    let lines = text.split('\n').map(|line| {
        if line.width() <= columns {
            return line.to_owned();
        }
        let indent = &line[..line.len() - line.trim_start().len()];
        let quoted: Vec<String> = line
            .split('`')
            .enumerate()
            .map(|(i, part)| if i % 2 == 1 { part.replace(' ', KEPT_SPACE) } else { part.to_owned() })
            .collect();
        let broken = wrapped(&quoted.join("`"), columns.saturating_sub(indent.width()));
        let broken: Vec<String> =
            broken.iter().map(|l| format!("{indent}{}", l.replace(KEPT_SPACE, " "))).collect();
        broken.join("\n")
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// Prints sentences a little to the right, broken between words; commands between back quotes stay whole.
pub fn sentences(env: &mut Env<'_>, said: &[String]) -> io::Result<()> {
    let columns = env.width.min(100).saturating_sub(4);
    for sentence in said {
        for (i, line) in fitted(&tame(sentence), columns).lines().enumerate() {
            writeln!(env.out, "{}{line}", if i == 0 { "  " } else { "    " })?;
        }
    }
    Ok(())
}

/// Stands for a space where no line is broken; text never holds it, since it is a control character.
const KEPT_SPACE: &str = "\u{1}";
