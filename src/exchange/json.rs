//! JSON as it stands in a file: fields in order and twice where they are given twice, whole numbers kept whole;
//! and a layout that people can read and compare line by line.

use std::fmt;
use std::io;

use serde::de::{MapAccess, SeqAccess, Visitor};
use serde::ser::Serialize;
use serde::{Deserialize, Deserializer};
use serde_json::ser::{Formatter, Serializer};

/// A value. The library's own keeps only the last of two fields of one name, and a fault that is passed over
/// is a fault.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Json {
    Null,
    Flag(bool),
    Integer(i64),
    /// A number that is not whole, or too large.
    Number(f64),
    Text(String),
    List(Vec<Json>),
    Object(Vec<(String, Json)>),
}

impl Json {
    /// Returns what this is, for a message.
    pub(super) fn described(&self) -> String {
        match self {
            Self::Null => "null".into(),
            Self::Flag(flag) => flag.to_string(),
            Self::Integer(number) => number.to_string(),
            Self::Number(number) => number.to_string(),
            Self::Text(text) => {
                let mut short: String = text.chars().take(40).collect();
                if short.len() < text.len() {
                    short.push('…');
                }
                format!("\"{short}\"")
            }
            Self::List(_) => "a list".into(),
            Self::Object(_) => "an object".into(),
        }
    }
}

impl<'de> Deserialize<'de> for Json {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(AnyValue)
    }
}

struct AnyValue;

impl<'de> Visitor<'de> for AnyValue {
    type Value = Json;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_unit<E>(self) -> Result<Json, E> {
        Ok(Json::Null)
    }

    fn visit_bool<E>(self, flag: bool) -> Result<Json, E> {
        Ok(Json::Flag(flag))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Json, E> {
        Ok(Json::Integer(number))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Json, E> {
        Ok(i64::try_from(number).map_or(Json::Number(number as f64), Json::Integer))
    }

    fn visit_f64<E>(self, number: f64) -> Result<Json, E> {
        Ok(Json::Number(number))
    }

    fn visit_str<E>(self, text: &str) -> Result<Json, E> {
        Ok(Json::Text(text.to_owned()))
    }

    fn visit_string<E>(self, text: String) -> Result<Json, E> {
        Ok(Json::Text(text))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Json, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element()? {
            list.push(item);
        }
        Ok(Json::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Json, A::Error> {
        let mut fields = Vec::new();
        while let Some(field) = entries.next_entry()? {
            fields.push(field);
        }
        Ok(Json::Object(fields))
    }
}

/// Writes a document: a line for each field of it, a line for each item of a list among them, all else within
/// its line; and a line end.
pub(super) fn write(document: &impl Serialize, out: &mut impl io::Write) -> io::Result<()> {
    let mut serializer = Serializer::with_formatter(&mut *out, Lines::default());
    document
        .serialize(&mut serializer)
        .map_err(io::Error::from)?;
    writeln!(out)
}

/// The layout of [`write`].
#[derive(Default)]
struct Lines {
    /// For each open list or object, whether its items have lines of their own.
    open: Vec<bool>,
    /// Whether the innermost has had an item.
    has_items: bool,
}

impl Lines {
    fn open(&mut self, is_list: bool) {
        let lines = match self.open.len() {
            0 => true,
            1 => is_list,
            _ => false,
        };
        self.open.push(lines);
        self.has_items = false;
    }

    fn close<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        let lines = self.open.pop() == Some(true);
        if lines && self.has_items {
            self.line(writer)?;
        }
        self.has_items = true;
        Ok(())
    }

    fn line<W: ?Sized + io::Write>(&self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b"\n")?;
        for _ in &self.open {
            writer.write_all(b"  ")?;
        }
        Ok(())
    }

    fn item<W: ?Sized + io::Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        let lines = self.open.last() == Some(&true);
        match (first, lines) {
            (true, true) => self.line(writer),
            (true, false) => Ok(()),
            (false, true) => {
                writer.write_all(b",")?;
                self.line(writer)
            }
            (false, false) => writer.write_all(b", "),
        }
    }
}

impl Formatter for Lines {
    fn begin_array<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open(true);
        writer.write_all(b"[")
    }

    fn end_array<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer)?;
        writer.write_all(b"]")
    }

    fn begin_array_value<W: ?Sized + io::Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.item(writer, first)
    }

    fn end_array_value<W: ?Sized + io::Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.has_items = true;
        Ok(())
    }

    fn begin_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open(false);
        writer.write_all(b"{")
    }

    fn end_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer)?;
        writer.write_all(b"}")
    }

    fn begin_object_key<W: ?Sized + io::Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.item(writer, first)
    }

    fn begin_object_value<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }

    fn end_object_value<W: ?Sized + io::Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.has_items = true;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_twice_is_kept_twice_and_whole_numbers_stay_whole() {
        let read: Json =
            serde_json::from_str(r#"{"a": 9007199254740993, "a": 1.5, "b": [null, "x"]}"#)
                .expect("is read");
        let Json::Object(fields) = read else {
            panic!("no object");
        };
        assert_eq!(fields.len(), 3);
        assert_eq!(fields[0].1, Json::Integer(9_007_199_254_740_993));
        assert_eq!(fields[1].1, Json::Number(1.5));
        assert_eq!(
            fields[2].1,
            Json::List(vec![Json::Null, Json::Text("x".into())])
        );
    }

    #[test]
    fn a_line_for_each_thing() {
        let value: serde_json::Value = serde_json::from_str(
            r#"{"a": [], "b": [{"c": [[1, 2], []]}, 3], "d": {"e": 1, "f": {}}}"#,
        )
        .expect("is read");
        let mut out = Vec::new();
        write(&value, &mut out).expect("is written");
        let expected = "{\n  \"a\": [],\n  \"b\": [\n    {\"c\": [[1, 2], []]},\n    3\n  ],\n  \"d\": {\"e\": 1, \"f\": {}}\n}\n";
        assert_eq!(String::from_utf8(out).expect("text"), expected);
    }
}
