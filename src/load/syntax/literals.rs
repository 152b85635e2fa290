//! What stands inside quotes and what digits mean: the escapes and numbers of RON.

use super::lexer::Token;

/// Returns where the text that begins at `at` is closed.
pub(super) fn closing_quote(text: &str, at: usize) -> Option<usize> {
    let bytes = text.as_bytes();
    let mut at = at;
    while let Some(found) = bytes
        .get(at..)?
        .iter()
        .position(|b| matches!(b, b'"' | b'\\'))
    {
        at += found;
        if bytes[at] == b'"' {
            return Some(at);
        }
        at += 2;
    }
    None
}

/// An escape: what it means (nothing, for a line that goes on) and its length; or why it is none.
pub(super) type Escape = Result<(Option<char>, usize), (&'static str, usize)>;

/// Reads the escape that `text` begins with.
pub(super) fn escape(text: &str) -> Escape {
    let Some(kind) = text[1..].chars().next() else {
        return Err(("is not an escape", 1));
    };
    let simple = |c| Ok((Some(c), 2));
    match kind {
        '\'' | '"' | '\\' => simple(kind),
        'n' => simple('\n'),
        'r' => simple('\r'),
        't' => simple('\t'),
        '0' => simple('\0'),
        '\n' | '\r' if kind == '\n' || text[2..].starts_with('\n') => {
            let blank = |c: char| matches!(c, ' ' | '\t' | '\n' | '\r');
            let length = text[1..].find(|c| !blank(c)).unwrap_or(text.len() - 1);
            Ok((None, 1 + length))
        }
        'x' => byte_escape(text),
        'u' => {
            let inside = text[2..].strip_prefix('{').and_then(|inside| {
                let digits = &inside[..inside.find('}')?];
                (1..=6).contains(&digits.len()).then_some(digits)
            });
            let Some(digits) = inside else {
                return Err(("is not an escape", 2));
            };
            let length = digits.len() + 4;
            hexadecimal(digits)
                .and_then(char::from_u32)
                .map(|c| (Some(c), length))
                .ok_or(("is not a character", length))
        }
        other => Err(("is not an escape", 1 + other.len_utf8())),
    }
}

/// Returns what hexadecimal digits are worth.
pub(super) fn hexadecimal(digits: &str) -> Option<u32> {
    let all = digits.bytes().all(|b| b.is_ascii_hexdigit());
    all.then(|| u32::from_str_radix(digits, 16).ok()).flatten()
}

/// Reads `\x..`, which may spell one character in up to four of them.
fn byte_escape(text: &str) -> Escape {
    let mut bytes = Vec::new();
    let mut rest = text;
    while bytes.len() < 4 {
        let byte = rest
            .strip_prefix("\\x")
            .and_then(|digits| digits.get(..2))
            .and_then(hexadecimal);
        let Some(byte) = byte else { break };
        bytes.push(byte as u8);
        rest = &rest[4..];
        if let Ok(meant) = std::str::from_utf8(&bytes) {
            return Ok((meant.chars().next(), 4 * bytes.len()));
        }
    }
    Err(("is not a character", (4 * bytes.len()).max(2)))
}

/// Returns the number written without its sign, or nothing when it is none.
pub(super) fn number_of(negative: bool, body: &str) -> Option<Token> {
    let signed = |number: f64| if negative { -number } else { number };
    match body {
        "inf" | "inff32" | "inff64" => return Some(Token::Float(signed(f64::INFINITY))),
        "NaN" | "NaNf32" | "NaNf64" => return Some(Token::Float(signed(f64::NAN))),
        _ => {}
    }
    let (radix, digits) = match body.get(..2) {
        Some("0x") => (16, &body[2..]),
        Some("0o") => (8, &body[2..]),
        Some("0b") => (2, &body[2..]),
        _ => (10, body),
    };
    let whole = !digits.is_empty()
        && !digits.starts_with('_')
        && digits.chars().all(|c| c == '_' || c.is_digit(radix));
    if whole {
        let bare: String = digits.chars().filter(|&c| c != '_').collect();
        let number = i128::from_str_radix(&bare, radix).ok();
        let number = number.map(|number| if negative { -number } else { number });
        // Past what any count on a menu can be, RON takes a decimal number for an inexact one.
        return match number {
            Some(number) if (i128::from(i64::MIN)..=i128::from(u64::MAX)).contains(&number) => {
                Some(Token::Int(number))
            }
            _ if radix == 10 => bare.parse().ok().map(|number| Token::Float(signed(number))),
            _ => None,
        };
    }
    if radix != 10 || body.starts_with('_') {
        return None;
    }
    let mut bare = String::with_capacity(body.len());
    let mut before = ' ';
    for c in body.chars() {
        match c {
            '_' if before.is_ascii_digit() || matches!(before, 'e' | 'E') => continue,
            '0'..='9' | '.' | 'e' | 'E' | '+' | '-' => bare.push(c),
            _ => return None,
        }
        before = c;
    }
    let number: f64 = bare.parse().ok()?;
    Some(Token::Float(signed(number)))
}
