//! Text → a tree with the place of everything in it: RON, read tolerantly.
//!
//! # Why a reader of our own
//! A menu is written by a cook, and all its faults must come at once, each with line and column. The `ron`
//! crate (which writes our menus, see `written`) stops at the first fault, and once it has filled a type the
//! places are gone: a fault of meaning ("no step is called `steap`") could not be shown where it stands. So
//! this small reader keeps the place of each value and each field's name, and goes on after a fault. A property
//! test holds it to the `ron` crate in both directions.
//!
//! # How it goes on
//! After a value that makes no sense it skips to the next comma or closing bracket of the same depth. A missing
//! comma, colon or closing bracket is reported and taken as written; a text without its closing quote ends with
//! its line. A closing bracket that matches an outer opening one closes everything in between.
//!
//! # Where it differs from the `ron` crate on purpose
//! - Names are ASCII; raw identifiers (`r#name`), byte literals (`b'x'`), number suffixes (`5u8`) and ranges
//!   without quotes (`1..3`) are faults: a menu has no use for them.
//! - A field given twice in one bracket is a fault.
//! - At most 64 brackets inside one another (the crate: 128).
//! - Of the extensions only `implicit_some` may be named, and it is in force in any case.

mod lexer;
mod literals;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use super::fault::Source;
use lexer::{Lexer, Token};

pub(in crate::load) use lexer::{harmless, quoted, shortened};

/// How deep brackets may nest; a menu needs eight.
const DEEPEST: usize = 64;

/// A stretch of a file, in bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::load) struct Span {
    /// The first byte.
    pub(in crate::load) start: usize,
    /// The first byte after.
    pub(in crate::load) end: usize,
}

impl Span {
    /// Returns the stretch from `start` up to `end`.
    pub(in crate::load) fn new(start: usize, end: usize) -> Self {
        Self { start, end }
    }
}

/// A value and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::load) struct Node {
    /// Where.
    pub(in crate::load) span: Span,
    /// What.
    pub(in crate::load) value: Value,
}

/// A field as written.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::load) struct Field {
    /// Its name.
    pub(in crate::load) name: String,
    /// Where the name stands.
    pub(in crate::load) name_span: Span,
    /// Its value.
    pub(in crate::load) value: Node,
}

/// A value of RON.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::load) enum Value {
    /// `()`.
    Unit,
    /// `true` or `false`.
    Bool(bool),
    /// A whole number.
    Int(i128),
    /// Any other number.
    Float(f64),
    /// A character.
    Char(char),
    /// A text.
    Text(String),
    /// Bytes.
    Bytes(Vec<u8>),
    /// `Some(…)` or `None`.
    Option(Option<Box<Node>>),
    /// `[…]`.
    List(Vec<Node>),
    /// `{key: value}`.
    Map(Vec<(Node, Node)>),
    /// A bare name.
    Name(String),
    /// `Name(a, b)` or `(a, b)`.
    Tuple(Option<String>, Vec<Node>),
    /// `Name(field: value)` or `(field: value)`; also `Name()`.
    Struct(Option<String>, Vec<Field>),
    /// Something already reported.
    Broken,
}

impl Value {
    /// Returns what a message calls it.
    pub(in crate::load) fn said(&self) -> String {
        match self {
            Self::Unit => "`()`".to_owned(),
            Self::Bool(truth) => format!("`{truth}`"),
            Self::Int(number) => Token::Int(*number).said(),
            Self::Float(number) => Token::Float(*number).said(),
            Self::Char(c) => Token::Char(*c).said(),
            Self::Text(text) => Token::Text(text.clone()).said(),
            Self::Bytes(_) => "bytes".to_owned(),
            Self::Option(Some(_)) => "`Some(…)`".to_owned(),
            Self::Option(None) => "`None`".to_owned(),
            Self::List(_) => "a list".to_owned(),
            Self::Map(_) => "a map `{…}`".to_owned(),
            Self::Name(name) => Token::Name(name.clone()).said(),
            Self::Tuple(Some(name), _) | Self::Struct(Some(name), _) => {
                format!("`{}(…)`", shortened(name))
            }
            Self::Tuple(None, _) | Self::Struct(None, _) => "`(…)`".to_owned(),
            Self::Broken => "something unreadable".to_owned(),
        }
    }
}

/// Reads a file into a tree; whatever is wrong goes to the source's faults.
pub(in crate::load) fn read(source: &Source<'_>) -> Node {
    let mut reader = Reader::new(source);
    reader.lexer.attributes();
    reader.advance();
    if reader.token == Token::End {
        source.fault_try(
            Span::new(0, 0),
            "the file is empty",
            "begin it with `Menu(`, `Kitchen(` or `Dish(`",
        );
        return reader.broken();
    }
    let node = reader.value(0);
    if reader.token != Token::End && !reader.at_end {
        source.fault_try(
            reader.span,
            format!(
                "{} after the end of the file's one value",
                reader.token.said()
            ),
            "a file holds one menu, one kitchen or one dish",
        );
    }
    node
}

/// The reader: one token ahead, and the brackets that are open.
struct Reader<'s> {
    source: &'s Source<'s>,
    lexer: Lexer<'s>,
    token: Token,
    span: Span,
    /// The end of the token before.
    behind: usize,
    open: Vec<(char, usize)>,
    /// The file ended inside a bracket, which has been reported.
    at_end: bool,
}

fn closing(open: char) -> char {
    match open {
        '(' => ')',
        '[' => ']',
        _ => '}',
    }
}

impl<'s> Reader<'s> {
    fn new(source: &'s Source<'s>) -> Self {
        Self {
            source,
            lexer: Lexer::new(source),
            token: Token::End,
            span: Span::default(),
            behind: 0,
            open: Vec::new(),
            at_end: false,
        }
    }

    fn advance(&mut self) -> Token {
        self.behind = self.span.end;
        let (token, span) = self.lexer.next();
        self.span = span;
        std::mem::replace(&mut self.token, token)
    }

    fn broken(&self) -> Node {
        Node {
            span: self.span,
            value: Value::Broken,
        }
    }

    /// Skips to the next comma or closing bracket of this depth, without taking it.
    fn skip(&mut self) {
        let mut depth = 0_usize;
        loop {
            match self.token {
                Token::End => return,
                Token::Comma | Token::Close(_) if depth == 0 => return,
                Token::Close(_) => depth -= 1,
                Token::Open(_) => depth += 1,
                _ => {}
            }
            self.advance();
        }
    }

    fn value(&mut self, depth: usize) -> Node {
        let start = self.span;
        let value = match &self.token {
            Token::Open(open) => {
                let open = *open;
                return self.bracket(open, None, start.start, depth);
            }
            Token::Name(_) if self.lexer.followed_by('(') => {
                let Token::Name(name) = self.advance() else {
                    return self.broken();
                };
                return self.bracket('(', Some(name), start.start, depth);
            }
            Token::Comma | Token::Close(_) | Token::Colon | Token::Stray(_) | Token::End => {
                self.source.fault(
                    self.span,
                    format!("a value is missing before {}", self.token.said()),
                    None,
                );
                if matches!(self.token, Token::Colon | Token::Stray(_)) {
                    self.skip();
                }
                return Node {
                    span: start,
                    value: Value::Broken,
                };
            }
            _ => match self.advance() {
                Token::Text(text) => Value::Text(text),
                Token::Char(c) => Value::Char(c),
                Token::Bytes(bytes) => Value::Bytes(bytes),
                Token::Int(number) => Value::Int(number),
                Token::Float(number) => Value::Float(number),
                Token::Name(name) => match name.as_str() {
                    "true" => Value::Bool(true),
                    "false" => Value::Bool(false),
                    "None" => Value::Option(None),
                    _ => Value::Name(name),
                },
                _ => Value::Broken,
            },
        };
        Node { span: start, value }
    }

    /// Reads from an opening bracket to its closing one.
    fn bracket(&mut self, open: char, name: Option<String>, start: usize, depth: usize) -> Node {
        let opened = self.span;
        self.advance();
        if depth >= DEEPEST {
            self.source.fault_try(
                opened,
                format!("more than {DEEPEST} brackets inside one another"),
                "look for a bracket that is not closed above here",
            );
            self.skip_bracket();
            return Node {
                span: Span::new(start, self.behind),
                value: Value::Broken,
            };
        }
        self.open.push((open, opened.start));
        let mut inside = Inside::default();
        while !self.closes(open) {
            self.item(open, depth, &mut inside);
        }
        self.open.pop();
        let span = Span::new(start, self.behind.max(opened.end));
        Node {
            span,
            value: self.whole(open, name, inside, span),
        }
    }

    /// Skips to the closing bracket of the one just opened, without regard to kinds.
    fn skip_bracket(&mut self) {
        loop {
            self.skip();
            match self.token {
                Token::End => return,
                Token::Close(_) => {
                    self.advance();
                    return;
                }
                _ => self.advance(),
            };
        }
    }

    /// Returns whether the bracket ends here; takes its closing bracket if it is there.
    fn closes(&mut self, open: char) -> bool {
        let wanted = closing(open);
        let opened = self.open.last().map_or(0, |&(_, at)| at);
        while let Token::Close(found) = self.token
            && found != wanted
        {
            let line = self.source.line(opened);
            let outer = self.open.iter().any(|&(open, _)| closing(open) == found);
            let what = format!("`{found}` here, but the `{open}` of line {line} is still open");
            let instead = if outer {
                format!("put `{wanted}` before it")
            } else {
                format!("write `{wanted}` instead, or leave it out")
            };
            self.source.fault_try(self.span, what, instead);
            if outer {
                return true;
            }
            self.advance();
            if self.token == Token::Comma {
                self.advance();
            }
            // At the end of the file it can only have been meant for this one.
            if self.token == Token::End && self.open.len() == 1 {
                return true;
            }
        }
        match self.token {
            Token::Close(_) => {
                self.advance();
                true
            }
            Token::End => {
                if !self.at_end {
                    self.at_end = true;
                    self.source.fault_try(
                        Span::new(opened, opened + 1),
                        format!("this `{open}` is never closed"),
                        format!("put `{wanted}` where it ends"),
                    );
                }
                true
            }
            _ => false,
        }
    }

    /// Reads one item of a bracket and the comma after it.
    fn item(&mut self, open: char, depth: usize, inside: &mut Inside) {
        match &self.token {
            Token::Comma => {
                self.source
                    .fault_try(self.span, "a comma with nothing before it", "leave it out");
                self.advance();
                return;
            }
            Token::Name(name) if open == '(' && !self.is_tuple_name(name) => {
                self.field(depth, inside);
            }
            Token::Colon | Token::Stray(_) => {
                let said = self.token.said();
                self.source.fault_try(
                    self.span,
                    format!("{said} cannot stand here"),
                    "leave it out; times, amounts and names stand in quotes",
                );
                self.skip();
            }
            _ if open == '{' => {
                let key = self.value(depth + 1);
                if self.token == Token::Colon {
                    self.advance();
                    let value = self.value(depth + 1);
                    inside.pairs.push((key, value));
                } else {
                    self.source.fault_try(
                        self.span,
                        "a `:` and a value are missing here",
                        "between `{` and `}` stands `key: value`",
                    );
                    self.skip();
                }
            }
            _ => {
                let node = self.value(depth + 1);
                inside.items.push(node);
            }
        }
        self.comma(inside);
    }

    /// Returns whether a name in a bracket is a value, not the name of a field.
    fn is_tuple_name(&self, name: &str) -> bool {
        if self.lexer.followed_by(':') || self.lexer.followed_by('=') {
            return false;
        }
        // `id "x"` and `steps [` have lost their colon; `Milk,` and `Step(` are values.
        let value_follows = ['"', '['].iter().any(|&c| self.lexer.followed_by(c));
        !value_follows || matches!(name, "true" | "false" | "None")
    }

    fn field(&mut self, depth: usize, inside: &mut Inside) {
        let name_span = self.span;
        let Token::Name(name) = self.advance() else {
            return;
        };
        match self.token {
            Token::Colon => {
                self.advance();
            }
            Token::Stray('=') => {
                self.source.fault_try(
                    self.span,
                    "`=` between a field and its value",
                    format!("{name}: …"),
                );
                self.advance();
            }
            _ => self.source.fault_try(
                Span::new(self.behind, self.behind),
                format!("a colon is missing after `{name}`"),
                format!("{name}: …"),
            ),
        }
        let value = if matches!(self.token, Token::Comma | Token::Close(_) | Token::End) {
            self.source.fault(
                name_span,
                format!("`{name}` has no value"),
                Some(format!("{name}: …, or leave it out")),
            );
            Node {
                span: name_span,
                value: Value::Broken,
            }
        } else {
            self.value(depth + 1)
        };
        if let Some(&first) = inside.names.get(&name) {
            let line = self.source.line(first);
            self.source.fault_try(
                name_span,
                format!("`{name}` is given twice; the first time on line {line}"),
                "leave one of them out",
            );
            return;
        }
        inside.names.insert(name.clone(), name_span.start);
        inside.fields.push(Field {
            name,
            name_span,
            value,
        });
    }

    /// Takes the comma after an item, or says that it is missing.
    fn comma(&mut self, inside: &mut Inside) {
        match &self.token {
            Token::Comma => {
                self.advance();
            }
            Token::Close(_) | Token::End => {}
            Token::Name(word) if inside.ends_with_number() && !self.lexer.followed_by(':') => {
                let said = shortened(word);
                let began = inside.break_last().unwrap_or(self.span).start;
                let written = &self.source.text()[began..self.span.end];
                self.source.fault_try(
                    self.span,
                    format!("`{said}` after a number without quotes"),
                    format!("times and amounts stand in quotes: {}", quoted(written)),
                );
                self.skip();
                if self.token == Token::Comma {
                    self.advance();
                }
            }
            Token::Colon | Token::Stray(_) => {
                let said = self.token.said();
                inside.break_last();
                let instead = match self.token {
                    Token::Stray('.') => "the path of a file stands in `File(\"…\")`",
                    _ => "times, amounts and names stand in quotes: \"19:30\"",
                };
                self.source
                    .fault_try(self.span, format!("{said} cannot stand here"), instead);
                self.skip();
                if self.token == Token::Comma {
                    self.advance();
                }
            }
            _ => self.source.fault_try(
                Span::new(self.behind, self.behind),
                format!("a comma is missing before {}", self.token.said()),
                "put `,` here",
            ),
        }
    }

    /// Returns what a closed bracket amounts to.
    fn whole(&self, open: char, name: Option<String>, inside: Inside, span: Span) -> Value {
        let Inside {
            mut items,
            fields,
            pairs,
            names: _,
        } = inside;
        if let Some(name) = name.as_deref()
            && matches!(name, "true" | "false" | "None" | "Some")
            && (name != "Some" || items.len() != 1 || !fields.is_empty())
        {
            let what = match name {
                "Some" => "`Some(…)` holds one value".to_owned(),
                name => format!("`{name}` has nothing inside it"),
            };
            self.source.fault(span, what, None);
            return Value::Broken;
        }
        match open {
            '[' => Value::List(items),
            '{' => Value::Map(pairs),
            _ if !fields.is_empty() => {
                // An item among fields has lost its name; a broken one has been reported.
                for item in items.iter().filter(|item| item.value != Value::Broken) {
                    self.source.fault_try(
                        item.span,
                        format!("{} has no name in front of it", item.value.said()),
                        "write it as `name: value`",
                    );
                }
                Value::Struct(name, fields)
            }
            _ => match (name, items.len()) {
                (None, 0) => Value::Unit,
                (Some(name), 1) if name == "Some" => {
                    Value::Option(Some(Box::new(items.swap_remove(0))))
                }
                (Some(name), 0) => Value::Struct(Some(name), fields),
                (name, _) => Value::Tuple(name, items),
            },
        }
    }
}

/// What has been read of a bracket.
#[derive(Default)]
struct Inside {
    items: Vec<Node>,
    fields: Vec<Field>,
    pairs: Vec<(Node, Node)>,
    /// The fields' names, each with the byte it stands at.
    names: BTreeMap<String, usize>,
}

impl Inside {
    /// Returns the value read last.
    fn last(&mut self) -> Option<&mut Node> {
        let last = [
            self.items.last_mut(),
            self.fields.last_mut().map(|field| &mut field.value),
            self.pairs.last_mut().map(|(_, value)| value),
        ];
        last.into_iter()
            .flatten()
            .max_by_key(|node| node.span.start)
    }

    fn ends_with_number(&mut self) -> bool {
        self.last()
            .is_some_and(|node| matches!(node.value, Value::Int(_) | Value::Float(_)))
    }

    /// Makes the value read last unreadable, because what follows shows that it was only a piece of one; returns
    /// where it stands.
    fn break_last(&mut self) -> Option<Span> {
        let node = self.last()?;
        node.value = Value::Broken;
        Some(node.span)
    }
}
