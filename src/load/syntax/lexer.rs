//! Text → tokens of RON, one at a time, with the place of each.
//!
//! Whatever the text, the lexer goes forward by at least a character a token and through each part of it a
//! bounded number of times, so nonsense of any size takes time in proportion to its length.

use super::Span;
use super::literals::{closing_quote, escape, hexadecimal, number_of};
use crate::load::fault::Source;
use crate::text::is_unwanted;

/// A token.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Token {
    /// `(`, `[` or `{`.
    Open(char),
    /// `)`, `]` or `}`.
    Close(char),
    /// `,`.
    Comma,
    /// `:`.
    Colon,
    /// A text in quotes.
    Text(String),
    /// A character in single quotes.
    Char(char),
    /// Bytes, `b"…"`.
    Bytes(Vec<u8>),
    /// A whole number.
    Int(i128),
    /// Any other number.
    Float(f64),
    /// A bare word.
    Name(String),
    /// Something already reported; stands where a value would.
    Broken,
    /// A character that means nothing here; not reported yet.
    Stray(char),
    /// The end of the file.
    End,
}

impl Token {
    /// Returns what a message calls it.
    pub(super) fn said(&self) -> String {
        match self {
            Self::Stray(c) if c.is_control() || c.is_whitespace() => {
                format!("the character U+{:04X}", u32::from(*c))
            }
            Self::Open(c) | Self::Close(c) | Self::Stray(c) => format!("`{c}`"),
            Self::Comma => "`,`".to_owned(),
            Self::Colon => "`:`".to_owned(),
            Self::Text(text) => format!("the text {}", quoted(text)),
            Self::Char(c) => format!("the character {}", quoted(&c.to_string())),
            Self::Bytes(_) => "bytes".to_owned(),
            Self::Int(number) => format!("the number {number}"),
            Self::Float(number) => format!("the number {number}"),
            Self::Name(name) => format!("`{}`", shortened(name)),
            Self::Broken => "something unreadable".to_owned(),
            Self::End => "the end of the file".to_owned(),
        }
    }
}

/// Returns a text in quotes as a message shows it: short, and harmless to a terminal.
pub(in crate::load) fn quoted(text: &str) -> String {
    format!("\"{}\"", shortened(text))
}

/// Returns a text as a message shows it: on one line, at most 60 characters, harmless to a terminal.
pub(in crate::load) fn shortened(text: &str) -> String {
    let mut short: String = text.chars().take(60).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    harmless(&short)
}

/// Returns a text in which nothing can act on a terminal: control characters, and those that turn or hide what
/// follows, are spelt out.
pub(in crate::load) fn harmless(text: &str) -> String {
    let mut said = String::with_capacity(text.len());
    for c in text.chars() {
        if is_unwanted(c) || c == '\u{200d}' {
            said.extend(c.escape_unicode());
        } else {
            said.push(c);
        }
    }
    said
}

/// Reads tokens off a text.
#[derive(Debug)]
pub(super) struct Lexer<'s> {
    source: &'s Source<'s>,
    text: &'s str,
    at: usize,
}

/// Blank characters as RON counts them.
fn is_blank(c: char) -> bool {
    matches!(
        c,
        ' ' | '\t'
            | '\n'
            | '\r'
            | '\x0B'
            | '\x0C'
            | '\u{85}'
            | '\u{200E}'
            | '\u{200F}'
            | '\u{2028}'
            | '\u{2029}'
    )
}

fn is_name(c: char) -> bool {
    c.is_ascii_alphanumeric() || c == '_'
}

impl<'s> Lexer<'s> {
    /// Returns a lexer at the beginning of a file.
    pub(super) fn new(source: &'s Source<'s>) -> Self {
        Self {
            source,
            text: source.text(),
            at: 0,
        }
    }

    fn rest(&self) -> &'s str {
        &self.text[self.at..]
    }

    fn take(&mut self, count: usize) -> &'s str {
        let taken = &self.rest()[..count];
        self.at += count;
        taken
    }

    fn take_while(&mut self, wanted: impl Fn(char) -> bool) -> &'s str {
        let rest = self.rest();
        let count = rest.find(|c| !wanted(c)).unwrap_or(rest.len());
        self.take(count)
    }

    /// Returns where blanks and comments from `at` on end, and where an unclosed comment began.
    fn after_blanks(&self, mut at: usize) -> (usize, Option<usize>) {
        loop {
            let rest = &self.text[at..];
            at += rest.find(|c| !is_blank(c)).unwrap_or(rest.len());
            let rest = &self.text[at..];
            if rest.starts_with("//") {
                at += rest.find('\n').unwrap_or(rest.len());
            } else if rest.starts_with("/*") {
                match comment_length(rest) {
                    Some(length) => at += length,
                    None => return (self.text.len(), Some(at)),
                }
            } else {
                return (at, None);
            }
        }
    }

    /// Returns whether the next token is this character, without reading it.
    pub(super) fn followed_by(&self, wanted: char) -> bool {
        let (at, _) = self.after_blanks(self.at);
        self.text[at..].starts_with(wanted)
    }

    /// Reads the file's leading `#![enable(…)]`, which says nothing that this reader does not allow anyway.
    pub(super) fn attributes(&mut self) {
        loop {
            let (at, _) = self.after_blanks(self.at);
            let rest = &self.text[at..];
            if !rest.starts_with('#') {
                return;
            }
            let line = &rest[..rest.find('\n').unwrap_or(rest.len())];
            let end = line.find(']').map_or(line.len(), |end| end + 1);
            let inside = line[..end]
                .strip_prefix("#![")
                .and_then(|inside| inside.strip_suffix(']'))
                .map(str::trim);
            let names = inside
                .and_then(|inside| inside.strip_prefix("enable"))
                .and_then(|inside| inside.trim_start().strip_prefix('('))
                .and_then(|inside| inside.strip_suffix(')'));
            let known = names.is_some_and(|names| {
                names
                    .trim_end()
                    .trim_end_matches(',')
                    .split(',')
                    .all(|name| name.trim() == "implicit_some")
            });
            if !known {
                self.source.fault_try(
                    Span::new(at, at + end),
                    "a line that begins with `#` can only say `#![enable(implicit_some)]`",
                    "leave the line out, or begin a remark with `//`",
                );
            }
            self.at = at + end;
        }
    }

    /// Returns the next token and its place.
    pub(super) fn next(&mut self) -> (Token, Span) {
        let (at, unclosed) = self.after_blanks(self.at);
        self.at = at;
        if let Some(began) = unclosed {
            self.source.fault_try(
                Span::new(began, began + 2),
                "this remark is never closed, so everything after it is part of it",
                "end it with `*/`, or begin each line of it with `//`",
            );
        }
        let token = self.token();
        (token, Span::new(at, self.at))
    }

    fn token(&mut self) -> Token {
        let rest = self.rest();
        let Some(first) = rest.chars().next() else {
            return Token::End;
        };
        let second = rest[first.len_utf8()..].chars().next();
        match first {
            '(' | '[' | '{' => {
                self.at += 1;
                Token::Open(first)
            }
            ')' | ']' | '}' => {
                self.at += 1;
                Token::Close(first)
            }
            ',' => {
                self.at += 1;
                Token::Comma
            }
            ':' => {
                self.at += 1;
                Token::Colon
            }
            '"' => self.text_token(),
            '\'' => self.character(),
            'r' if matches!(second, Some('"' | '#')) && raw_opening(&rest[1..]).is_some() => {
                self.raw_text(1).map_or(Token::Broken, Token::Text)
            }
            'b' if second == Some('"') => self.bytes(),
            'b' if rest.starts_with("br") && raw_opening(&rest[2..]).is_some() => self
                .raw_text(2)
                .map_or(Token::Broken, |text| Token::Bytes(text.into_bytes())),
            '0'..='9' => self.number(),
            '+' | '-'
                if second
                    .is_some_and(|c| c.is_ascii_digit() || c == '.' || c == 'i' || c == 'N') =>
            {
                self.number()
            }
            '.' if second.is_some_and(|c| c.is_ascii_digit()) => self.number(),
            c if c.is_ascii_alphabetic() || c == '_' => {
                let name = self.take_while(is_name);
                match name {
                    "inf" | "inff32" | "inff64" => Token::Float(f64::INFINITY),
                    "NaN" | "NaNf32" | "NaNf64" => Token::Float(f64::NAN),
                    name => Token::Name(name.to_owned()),
                }
            }
            c => {
                self.at += c.len_utf8();
                Token::Stray(c)
            }
        }
    }

    fn number(&mut self) -> Token {
        let start = self.at;
        let sign = self.take(usize::from(self.rest().starts_with(['+', '-'])));
        let mut before = ' ';
        let rest = self.rest();
        let hex = rest.starts_with("0x");
        let length = rest
            .find(|c| {
                let exponent = matches!(c, '+' | '-') && matches!(before, 'e' | 'E') && !hex;
                before = c;
                !(is_name(c) || c == '.' || exponent)
            })
            .unwrap_or(rest.len());
        let body = self.take(length);
        if let Some(token) = number_of(sign == "-", body) {
            return token;
        }
        let span = Span::new(start, self.at);
        let written = &self.text[start..self.at];
        self.source.fault_try(
            span,
            format!("`{}` is not a number", shortened(written)),
            format!(
                "times and amounts stand in quotes: \"{}\"",
                shortened(written)
            ),
        );
        Token::Broken
    }

    fn text_token(&mut self) -> Token {
        let start = self.at;
        let Some(end) = closing_quote(self.text, start + 1) else {
            let line = self.end_of_line(start);
            self.source.fault_try(
                Span::new(start, start + 1),
                "the text that begins here has no closing quote",
                closed_on_line(&self.text[start..line]),
            );
            self.at = line;
            return Token::Broken;
        };
        let is_on_line = !self.text[start + 1..end].contains('\n');
        if let Some(real) = self.quoted_inside(end).filter(|_| is_on_line) {
            self.source.fault_try(
                Span::new(end, end + 1),
                "a quotation mark inside a text",
                "write it `\\\"`, or 'so'",
            );
            self.at = real + 1;
            return Token::Text(self.text[start + 1..real].to_owned());
        }
        let inside = &self.text[start + 1..end];
        if inside.contains('\n') {
            // A text may run over lines. When what follows it cannot follow a text, then more likely its
            // closing quote was forgotten and the quote found is the opening one of the next.
            let (after, _) = self.after_blanks(end + 1);
            let follows = self.text[after..].chars().next();
            if !matches!(follows, None | Some(',' | ')' | ']' | '}' | ':')) {
                let line = self.end_of_line(start);
                self.source.fault_try(
                    Span::new(start, start + 1),
                    "the text that begins here has no closing quote on its line",
                    closed_on_line(&self.text[start..line]),
                );
                self.at = line;
                return Token::Broken;
            }
        }
        self.at = end + 1;
        Token::Text(self.unescaped(start + 1, inside))
    }

    /// Returns where a text really ends whose quote at `end` stands in the middle of it: a word goes on behind it that is
    /// no name of a field, and on the same line there is a quote behind which a text can end.
    fn quoted_inside(&self, end: usize) -> Option<usize> {
        let behind = &self.text[end + 1..];
        let line = behind.split('\n').next().unwrap_or_default();
        let word = line.trim_start_matches(char::is_alphanumeric);
        let is_word = word.len() < line.len() && !word.trim_start().starts_with(':');
        if !is_word {
            return None;
        }
        let quotes = line.match_indices('"').map(|(at, _)| at);
        let mut ends = quotes.filter(|at| {
            let next = line[at + 1..].trim_start().chars().next();
            matches!(next, None | Some(',' | ')' | ']' | '}'))
        });
        ends.next().map(|at| end + 1 + at)
    }

    /// Returns where the line of a text without its closing quote ends: before a comma at its end.
    fn end_of_line(&self, start: usize) -> usize {
        let rest = &self.text[start..];
        let line = &rest[..rest.find('\n').unwrap_or(rest.len())];
        let trimmed = line.trim_end();
        let kept = trimmed.strip_suffix(',').unwrap_or(trimmed);
        // The closing brackets at the end of such a line are more likely meant than quoted.
        let kept = kept.trim_end_matches([')', ']', '}']);
        start + kept.len().max(1)
    }

    /// Returns a text with its escapes resolved; `at` is where it stands.
    fn unescaped(&self, at: usize, inside: &str) -> String {
        let mut text = String::with_capacity(inside.len());
        let mut rest = inside;
        while let Some(back) = rest.find('\\') {
            text.push_str(&rest[..back]);
            rest = &rest[back..];
            match escape(rest) {
                Ok((meant, length)) => {
                    text.extend(meant);
                    rest = &rest[length..];
                }
                Err((why, length)) => {
                    let place = at + (inside.len() - rest.len());
                    self.source.fault_try(
                        Span::new(place, place + length),
                        format!("`{}` {why}", shortened(&rest[..length])),
                        "write the character itself; a backslash is written `\\\\`, a quote `\\\"`",
                    );
                    text.push('\u{fffd}');
                    rest = &rest[length..];
                }
            }
        }
        text.push_str(rest);
        text
    }

    fn raw_text(&mut self, prefix: usize) -> Option<String> {
        let start = self.at;
        self.at += prefix;
        let hashes = self.take_while(|c| c == '#').len();
        self.at += 1;
        let closing = format!("\"{}", "#".repeat(hashes));
        if let Some(length) = self.rest().find(&closing) {
            let text = self.take(length).to_owned();
            self.at += closing.len();
            return Some(text);
        }
        self.source.fault_try(
            Span::new(start, self.at),
            "the text that begins here is never closed",
            format!("end it with `{}`", shortened(&closing)),
        );
        self.at = self.text.len();
        None
    }

    fn bytes(&mut self) -> Token {
        let start = self.at;
        let Some(end) = closing_quote(self.text, start + 2) else {
            self.source.fault(
                Span::new(start, start + 2),
                "the bytes that begin here have no closing quote",
                None,
            );
            self.at = self.text.len();
            return Token::Broken;
        };
        self.at = end + 1;
        let inside = &self.text[start + 2..end];
        let mut bytes = Vec::with_capacity(inside.len());
        let mut rest = inside;
        while let Some(back) = rest.find('\\') {
            bytes.extend_from_slice(&rest.as_bytes()[..back]);
            rest = &rest[back..];
            let hex = rest
                .strip_prefix("\\x")
                .and_then(|digits| digits.get(..2))
                .and_then(hexadecimal);
            match (hex, escape(rest)) {
                (Some(byte), _) => {
                    bytes.push(byte as u8);
                    rest = &rest[4..];
                }
                (None, Ok((meant, length))) if !rest.starts_with("\\u") => {
                    bytes.extend(meant.map(|c| c as u8));
                    rest = &rest[length..];
                }
                (None, Ok((_, length)) | Err((_, length))) => {
                    self.source.fault(
                        Span::new(start, end),
                        "bytes with an escape that is none",
                        None,
                    );
                    rest = &rest[length..];
                }
            }
        }
        bytes.extend_from_slice(rest.as_bytes());
        Token::Bytes(bytes)
    }

    fn character(&mut self) -> Token {
        let start = self.at;
        let rest = &self.rest()[1..];
        let meant = if rest.starts_with('\\') {
            escape(rest)
                .ok()
                .and_then(|(meant, length)| Some((meant?, length)))
        } else {
            rest.chars().next().map(|c| (c, c.len_utf8()))
        };
        if let Some((c, length)) = meant
            && rest[length..].starts_with('\'')
        {
            self.at += length + 2;
            return Token::Char(c);
        }
        let line = &rest[..rest.find('\n').unwrap_or(rest.len())];
        if let Some(end) = line.find('\'') {
            self.at += end + 2;
            self.source.fault_try(
                Span::new(start, self.at),
                "texts stand in double quotes",
                quoted(&line[..end]),
            );
        } else {
            self.at += 1;
            self.source.fault_try(
                Span::new(start, self.at),
                "a single quote with nothing it could begin or end",
                "texts stand in double quotes: \"…\"",
            );
        }
        Token::Broken
    }
}

fn closed_on_line(line: &str) -> String {
    format!("{}\"", shortened(line))
}

/// Returns the length of the nested comment a text begins with.
fn comment_length(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let (mut at, mut level) = (0, 0_usize);
    while at + 1 < bytes.len() {
        match &bytes[at..at + 2] {
            b"/*" => {
                level += 1;
                at += 2;
            }
            b"*/" => {
                level -= 1;
                at += 2;
                if level == 0 {
                    return Some(at);
                }
            }
            _ => at += 1,
        }
    }
    None
}

/// Returns how many hashes open a raw text, when one opens here.
fn raw_opening(text: &str) -> Option<usize> {
    let hashes = text.bytes().take_while(|&b| b == b'#').count();
    text[hashes..].starts_with('"').then_some(hashes)
}
