//! How wide words are on paper, and lines of them that fit.
//!
//! A sheet is printed with whatever plain sans serif there is, so letters are taken to be as wide as in a wide one: a line
//! that fits here fits there.

/// Returns about how wide a letter is, in parts of the letters' height.
fn width(c: char) -> f64 {
    match c {
        ' ' | '.' | ',' | ':' | ';' | '\'' | '!' | '|' | 'i' | 'j' | 'l' | 'I' => 0.32,
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '-' | '/' | '"' => 0.42,
        'm' | 'w' | 'M' | 'W' | '@' | '%' | '±' | '…' => 0.95,
        'A'..='Z' => 0.7,
        '0'..='9' => 0.62,
        c if c.is_ascii() => 0.59,
        // Letters of other scripts, and pictures, which are wider still.
        '\u{80}'..='\u{10ff}' => 0.75,
        _ => 1.2,
    }
}

/// Returns about how wide words are in mm, for letters of this height in mm.
pub fn width_mm(words: &str, letters_mm: f64) -> f64 {
    words.chars().map(width).sum::<f64>() * letters_mm
}

/// Words, and the lines that they are broken into.
#[derive(Debug, Clone, Default)]
pub struct Block {
    /// As they were.
    pub words: String,
    /// Line by line.
    pub lines: Vec<String>,
}

impl Block {
    /// Breaks words into lines as [`lines`] does.
    pub fn of(words: &str, letters_mm: f64, wide_mm: f64) -> Self {
        Self { words: words.trim().to_owned(), lines: lines(words, letters_mm, wide_mm) }
    }

    /// Returns how many lines there are.
    pub fn len(&self) -> usize {
        self.lines.len()
    }

    /// Returns whether there are no words.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }
}

/// Breaks words into lines that are no wider than this: between words, and within one that is too long for a line.
pub fn lines(words: &str, letters_mm: f64, wide_mm: f64) -> Vec<String> {
    let fits = |text: &str| width_mm(text, letters_mm) <= wide_mm;
    let (mut lines, mut line) = (Vec::new(), String::new());
    for word in words.split_whitespace() {
        let joined = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if fits(&joined) {
            line = joined;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if line.chars().count() > 1 && !fits(&line) {
                line.pop();
                lines.push(std::mem::replace(&mut line, c.to_string()));
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// Returns words of no more than so many characters, without what steers or hides.
pub fn clipped(words: &str, most: usize) -> String {
    let unseen = |c: char| c.is_control() || crate::name::is_hidden(c);
    let mut kept: String = words.chars().map(|c| if unseen(c) { ' ' } else { c }).take(most + 1).collect();
    if kept.chars().count() > most {
        kept.pop();
        kept.push('…');
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_it_may_be_and_nothing_is_lost() {
        let words = "brace height Überlängenfangschnurhalterungsschraube ½ 弓の高さを測る \u{1f3f9} end";
        for wide in [9.0, 20.0, 60.0] {
            let lines = lines(words, 3.0, wide);
            assert!(lines.iter().all(|line| width_mm(line, 3.0) <= wide), "{lines:?}");
            let kept: String = lines.concat().split_whitespace().collect();
            assert_eq!(kept, words.split_whitespace().collect::<String>());
        }
        assert!(lines("", 3.0, 9.0).is_empty() && lines(" ", 3.0, 9.0).is_empty());
        // Narrower than any letter: a letter a line, and an end.
        assert_eq!(lines("abc", 3.0, 0.1).len(), 3);
    }

    #[test]
    fn what_is_too_long_ends_in_dots() {
        assert_eq!(clipped("abcdef", 4), "abcd…");
        assert_eq!(clipped("ab\u{202e}\u{0}c", 9), "ab  c");
    }
}
