//! Reading values at places, every fault noted and gone past.
//!
//! A derived reader stops at its first fault and knows no place but a line; whoever writes an exporter wants
//! all of them, by path. Where a value is faulty its neutral stand-in is handed on, and the whole is refused at
//! the end.

use std::fmt;
use std::ops::RangeInclusive;

use super::fault::{Fault, Faults};
use super::json::Json;

/// A place in a document.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place<'a> {
    parent: Option<&'a Place<'a>>,
    part: Part<'a>,
}

#[derive(Clone, Copy, Debug)]
enum Part<'a> {
    Whole,
    Field(&'a str),
    Item(usize),
}

impl Place<'_> {
    pub(super) const WHOLE: Place<'static> = Place {
        parent: None,
        part: Part::Whole,
    };

    pub(super) fn field<'a>(&'a self, name: &'a str) -> Place<'a> {
        Place {
            parent: Some(self),
            part: Part::Field(name),
        }
    }

    pub(super) fn item(&self, index: usize) -> Place<'_> {
        Place {
            parent: Some(self),
            part: Part::Item(index),
        }
    }
}

impl fmt::Display for Place<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(parent) = self.parent {
            parent.fmt(f)?;
        }
        match self.part {
            Part::Whole => Ok(()),
            Part::Field(name) => {
                let inner = self
                    .parent
                    .is_some_and(|it| !matches!(it.part, Part::Whole));
                write!(f, "{}{name}", if inner { "." } else { "" })
            }
            Part::Item(index) => write!(f, "[{index}]"),
        }
    }
}

/// The fields of an object.
pub(super) struct Fields<'j, 'p> {
    place: &'p Place<'p>,
    fields: &'j [(String, Json)],
    /// Whether it is an object at all; where not, nothing more is said of what it lacks.
    is_object: bool,
}

impl<'j, 'p> Fields<'j, 'p> {
    pub(super) fn is_object(&self) -> bool {
        self.is_object
    }

    /// Returns a field that is there and not null.
    pub(super) fn get(&self, name: &str) -> Option<&'j Json> {
        let (_, value) = self.fields.iter().find(|(field, _)| field == name)?;
        (*value != Json::Null).then_some(value)
    }

    /// Returns where a field stands.
    pub(super) fn at<'a>(&'a self, name: &'a str) -> Place<'a>
    where
        'p: 'a,
    {
        self.place.field(name)
    }
}

/// Collects faults while a document is read.
#[derive(Debug, Default)]
pub(super) struct Reader {
    faults: Vec<Fault>,
}

impl Reader {
    /// Returns `read` if no fault was noted.
    pub(super) fn finish<T>(self, read: T) -> Result<T, Faults> {
        if self.faults.is_empty() {
            Ok(read)
        } else {
            Err(Faults(self.faults))
        }
    }

    pub(super) fn has_faults(&self) -> bool {
        !self.faults.is_empty()
    }

    pub(super) fn fault(
        &mut self,
        at: &Place<'_>,
        what: impl Into<String>,
        instead: impl Into<String>,
    ) {
        self.faults.push(Fault {
            path: at.to_string(),
            what: what.into(),
            instead: instead.into(),
        });
    }

    /// Reads an object that may have the `known` fields and no others.
    pub(super) fn fields<'j, 'p>(
        &mut self,
        at: &'p Place<'p>,
        json: &'j Json,
        known: &[&str],
    ) -> Fields<'j, 'p> {
        let Json::Object(fields) = json else {
            self.fault(
                at,
                format!("{} is no object", json.described()),
                format!("write an object with the fields {}", listed(known)),
            );
            return Fields {
                place: at,
                fields: &[],
                is_object: false,
            };
        };
        for (index, (name, _)) in fields.iter().enumerate() {
            if !known.contains(&name.as_str()) {
                let near = known
                    .iter()
                    .map(|field| (strsim::damerau_levenshtein(name, field), *field))
                    .min()
                    .filter(|(distance, _)| *distance <= 2);
                let instead = match near {
                    Some((_, near)) => format!("write \"{near}\""),
                    None => format!("leave it out; there are {}", listed(known)),
                };
                self.fault(&at.field(name), "there is no such field", instead);
            } else if fields[..index].iter().any(|(before, _)| before == name) {
                self.fault(&at.field(name), "the field is given twice", "give it once");
            }
        }
        Fields {
            place: at,
            fields,
            is_object: true,
        }
    }

    /// Returns a field that must be there.
    pub(super) fn need<'j>(
        &mut self,
        fields: &Fields<'j, '_>,
        name: &str,
        instead: &str,
    ) -> Option<&'j Json> {
        let found = fields.get(name);
        if found.is_none() && fields.is_object {
            self.fault(&fields.at(name), "it is missing", instead);
        }
        found
    }

    /// Reads a whole number in a range.
    pub(super) fn integer(
        &mut self,
        at: &Place<'_>,
        json: &Json,
        range: RangeInclusive<i64>,
    ) -> i64 {
        let what = match json {
            Json::Integer(number) if range.contains(number) => return *number,
            Json::Integer(number) if number < range.start() && *range.start() == 0 => {
                format!("{number} is negative")
            }
            Json::Integer(number) if number < range.start() => format!("{number} is too small"),
            Json::Integer(number) => format!("{number} is too large"),
            other => format!("{} is no whole number", other.described()),
        };
        let (least, most) = range.into_inner();
        self.fault(
            at,
            what,
            format!("write a whole number from {least} to {most}"),
        );
        least.max(0).min(most)
    }

    /// Reads a whole number in a range of 32-bit ones.
    pub(super) fn small(&mut self, at: &Place<'_>, json: &Json, range: RangeInclusive<i32>) -> i32 {
        let (least, most) = range.into_inner();
        self.integer(at, json, i64::from(least)..=i64::from(most)) as i32
    }

    /// Reads a field that must be there as a whole number.
    pub(super) fn small_of(
        &mut self,
        fields: &Fields<'_, '_>,
        name: &str,
        range: RangeInclusive<i32>,
    ) -> i32 {
        let (least, most) = (*range.start(), *range.end());
        let instead = format!("write a whole number from {least} to {most}");
        match self.need(fields, name, &instead) {
            Some(json) => self.small(&fields.at(name), json, range),
            None => 0.clamp(least, most),
        }
    }

    /// Reads a field as a whole number, where it is given.
    pub(super) fn small_if(
        &mut self,
        fields: &Fields<'_, '_>,
        name: &str,
        range: RangeInclusive<i32>,
    ) -> Option<i32> {
        let json = fields.get(name)?;
        Some(self.small(&fields.at(name), json, range))
    }

    /// Reads the place of something in a list of `count`, named `list`.
    pub(super) fn place_in(
        &mut self,
        at: &Place<'_>,
        json: &Json,
        list: &str,
        count: usize,
    ) -> usize {
        let what = match json {
            Json::Integer(number) => match usize::try_from(*number) {
                Ok(number) if number < count => return number,
                _ => format!("there is no {list}[{number}]"),
            },
            other => format!("{} is no place in {list}", other.described()),
        };
        let instead = match count {
            0 => format!("the list {list} is empty; put what is meant into it"),
            1 => "write 0, the only one there is".to_owned(),
            _ => format!("write a whole number from 0 to {}", count - 1),
        };
        self.fault(at, what, instead);
        0
    }

    /// Reads a field that must be there as the place of something in a list.
    pub(super) fn place_of(
        &mut self,
        fields: &Fields<'_, '_>,
        name: &str,
        list: &str,
        count: usize,
    ) -> usize {
        match self.need(fields, name, &format!("write a place in {list}")) {
            Some(json) => self.place_in(&fields.at(name), json, list, count),
            None => 0,
        }
    }

    /// Returns the items of a list.
    pub(super) fn list<'j>(&mut self, at: &Place<'_>, json: &'j Json) -> &'j [Json] {
        if let Json::List(items) = json {
            return items;
        }
        self.fault(
            at,
            format!("{} is no list", json.described()),
            "write a list, [] where there is nothing",
        );
        &[]
    }

    /// Returns the items of a list that may be left out.
    pub(super) fn list_if<'j>(&mut self, fields: &Fields<'j, '_>, name: &str) -> &'j [Json] {
        match fields.get(name) {
            Some(json) => self.list(&fields.at(name), json),
            None => &[],
        }
    }

    /// Reads a list of two.
    pub(super) fn pair<'j>(
        &mut self,
        at: &Place<'_>,
        json: &'j Json,
        example: &str,
    ) -> Option<(&'j Json, &'j Json)> {
        if let Json::List(items) = json
            && let [one, other] = items.as_slice()
        {
            return Some((one, other));
        }
        let what = match json {
            Json::List(items) => format!("it has {} items", items.len()),
            other => format!("{} is no list", other.described()),
        };
        self.fault(at, what, format!("write two items, as {example}"));
        None
    }

    /// Reads one of a few words.
    pub(super) fn word<T: Copy>(
        &mut self,
        at: &Place<'_>,
        json: &Json,
        words: &[(&str, T)],
    ) -> Option<T> {
        if let Json::Text(text) = json
            && let Some((_, meant)) = words.iter().find(|(word, _)| word == text)
        {
            return Some(*meant);
        }
        let words: Vec<String> = words
            .iter()
            .map(|(word, _)| format!("\"{word}\""))
            .collect();
        self.fault(
            at,
            format!("{} is not among the words for it", json.described()),
            format!("write {}", words.join(" or ")),
        );
        None
    }

    /// Reads a text that may be left out.
    pub(super) fn text_if(&mut self, fields: &Fields<'_, '_>, name: &str) -> Option<String> {
        match fields.get(name)? {
            Json::Text(text) => Some(text.clone()),
            other => {
                self.fault(
                    &fields.at(name),
                    format!("{} is no text", other.described()),
                    "write a text between quotes",
                );
                None
            }
        }
    }
}

fn listed(names: &[&str]) -> String {
    names.join(", ")
}
