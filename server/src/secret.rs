//! Secrets: tokens that devices show, and codes that people read aloud. Only their hashes are kept.

use crate::error::ServerError;
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use sheaf_model::log::Hash;
use subtle::ConstantTimeEq;

/// Digits and letters that nobody mistakes for each other: no I, L, O, U.
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// Letters of a code that carry its 128 bits, and those that catch a slip of the pen.
const BITS: usize = 26;
const CHECK: usize = 2;

/// Makes a token of 256 random bits.
pub fn new_token() -> Result<String, ServerError> {
    Ok(URL_SAFE_NO_PAD.encode(random::<32>()?))
}

/// Returns the fingerprint under which a token is known.
pub fn token_hash(token: &str) -> Hash {
    Hash::of_all([b"sheaf token\n".as_slice(), token.as_bytes()])
}

/// Returns whether two fingerprints of secrets are the same, in a time that does not depend on where they differ.
pub fn same(one: &Hash, other: &Hash) -> bool {
    one.as_bytes()[..].ct_eq(&other.as_bytes()[..]).into()
}

/// A code of 128 random bits: seven groups of four letters and digits, of which the last two check the rest.
#[derive(Clone, PartialEq, Eq)]
pub struct Code(String);

impl Code {
    /// Makes a new code.
    pub fn random() -> Result<Self, ServerError> {
        let bits = u128::from_le_bytes(random::<16>()?);
        let letter = |n: usize| LETTERS[(bits >> (5 * n)) as usize & 31] as char;
        let data: String = (0..BITS).map(letter).collect();
        let check = check_of(&data);
        Ok(Self(data + &check))
    }

    /// Reads a code as people write it: in any case, with any spacing, O for 0, I and L for 1.
    pub fn read(text: &str) -> Option<Self> {
        let plain = |c: char| match c.to_ascii_uppercase() {
            'O' => '0',
            'I' | 'L' => '1',
            c => c,
        };
        let letters: String = text
            .chars()
            .filter(|c| !matches!(c, ' ' | '-' | '.' | '\t' | '\r' | '\n'))
            .map(plain)
            .take(64)
            .collect();
        let known = letters.bytes().all(|b| LETTERS.contains(&b));
        let (data, check) = (letters.get(..BITS)?, letters.get(BITS..)?);
        (known && check.len() == CHECK && check == check_of(data)).then_some(Self(letters))
    }

    /// Returns the fingerprint under which the code is known.
    pub fn hash(&self) -> Hash {
        Hash::of_all([b"sheaf code\n".as_slice(), self.0.as_bytes()])
    }

    /// Writes the code for people.
    pub fn show(&self) -> String {
        let groups: Vec<&str> = (0..self.0.len()).step_by(4).map(|i| &self.0[i..i + 4]).collect();
        groups.join("-")
    }
}

fn check_of(data: &str) -> String {
    let sum = Hash::of_all([b"sheaf check\n".as_slice(), data.as_bytes()]);
    sum.as_bytes()[..CHECK].iter().map(|b| LETTERS[usize::from(b & 31)] as char).collect()
}

/// Returns random bytes from the system.
pub fn random<const N: usize>() -> Result<[u8; N], ServerError> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes)
        .map_err(|e| ServerError::Task(format!("the system gives no random bytes: {e}")))?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_code_is_read_back_however_people_write_it() {
        for _ in 0..200 {
            let code = Code::random().unwrap();
            let shown = code.show();
            assert_eq!(shown.len(), 34);
            assert!(Code::read(&shown) == Some(code.clone()));
            let sloppy = shown.to_lowercase().replace('-', " ").replace('0', "o").replace('1', "l");
            assert!(Code::read(&sloppy) == Some(code));
        }
    }

    #[test]
    fn fingerprints_are_the_same_only_in_every_byte() {
        let hash = Code::random().unwrap().hash();
        assert!(same(&hash, &hash.clone()));
        for at in 0..hash.as_bytes().len() {
            let mut other = *hash.as_bytes();
            other[at] ^= 1;
            assert!(!same(&hash, &Hash::from_bytes(other)), "byte {at}");
        }
    }

    #[test]
    fn a_slip_of_the_pen_is_told_from_a_wrong_code() {
        let shown = Code::random().unwrap().show();
        let mut missed = 0;
        for i in (0..shown.len()).filter(|i| i % 5 != 4) {
            let other = if shown.as_bytes()[i] == b'7' { "8" } else { "7" };
            let slip = format!("{}{other}{}", &shown[..i], &shown[i + 1..]);
            missed += usize::from(Code::read(&slip).is_some());
        }
        assert!(missed <= 2, "{missed} of 28 slips passed; one in 1024 is expected");
        assert!(
            Code::read("").is_none()
                && Code::read("ÄÖÜ").is_none()
                && Code::read(&"7".repeat(28_000)).is_none()
        );
    }
}
