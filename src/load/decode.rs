//! Typed fields out of the tree: what may stand where, and what to say when something else does.
//!
//! Every field of the format stands once in [`FIELDS`], with an example that messages show. Each reader of a
//! bracket asks for all of its fields by name and then calls [`Fields::finish`], which reports whatever is left
//! over. In debug builds it fails when a field is asked for that the table does not have, or one of the table is
//! not asked for; so a new field needs a line in the table, a line in its reader, and its place in the example
//! `sample-menus/every-field`, which a test compares with the table.

use std::cell::RefCell;

use super::fault::Source;
use super::fields::FIELDS;
use super::phrases::Trouble;
use super::syntax::{Field, Node, Span, Value, quoted, shortened};
use crate::menu::nearest;

/// Returns the fields of a bracket, with their examples.
fn table(bracket: &str) -> &'static [(&'static str, &'static str)] {
    FIELDS
        .iter()
        .find(|(name, _)| *name == bracket)
        .map_or(&[], |(_, fields)| fields)
}

/// The fields of one bracket, as they are asked for.
#[derive(Debug)]
pub(super) struct Fields<'n> {
    pub(super) source: &'n Source<'n>,
    pub(super) span: Span,
    bracket: &'static str,
    written: &'n [Field],
    asked: RefCell<Vec<&'static str>>,
}

impl<'n> Fields<'n> {
    /// Opens a bracket of this name; reports anything else that stands there.
    pub(super) fn open(
        source: &'n Source<'n>,
        node: &'n Node,
        bracket: &'static str,
    ) -> Option<Self> {
        let (name, fields): (_, &[Field]) = match &node.value {
            Value::Struct(name, fields) => (name.as_deref(), fields),
            Value::Unit => (None, &[]),
            Value::Broken => return None,
            Value::Option(Some(inner)) => return Self::open(source, inner, bracket),
            Value::Name(name) | Value::Tuple(Some(name), _) if name == bracket => {
                let (field, example) = table(bracket)[0];
                source.fault_try(
                    node.span,
                    format!("`{bracket}` needs its fields by name"),
                    format!("{bracket}({field}: {example}, …)"),
                );
                return None;
            }
            other => {
                let (field, example) = table(bracket)[0];
                source.fault_try(
                    node.span,
                    format!("`{bracket}(…)` belongs here, not {}", other.said()),
                    format!("{bracket}({field}: {example}, …)"),
                );
                return None;
            }
        };
        if let Some(name) = name.filter(|&name| name != bracket) {
            source.fault_try(
                node.span,
                format!("`{bracket}(…)` belongs here, not `{}(…)`", shortened(name)),
                format!("{bracket}(…)"),
            );
            // What is plainly something else is not looked into; a name that nothing has is a slip of the pen.
            if FIELDS.iter().any(|(known, _)| *known == name) {
                return None;
            }
        }
        Some(Self {
            source,
            span: node.span,
            bracket,
            written: fields,
            asked: RefCell::default(),
        })
    }

    fn example(&self, name: &str) -> &'static str {
        let field = table(self.bracket).iter().find(|(known, _)| *known == name);
        debug_assert!(field.is_some(), "{}.{name} is in the table", self.bracket);
        field.map_or("", |(_, example)| example)
    }

    /// Returns the field as written, if it is.
    pub(super) fn written(&self, name: &'static str) -> Option<&'n Field> {
        self.example(name);
        self.asked.borrow_mut().push(name);
        self.written.iter().find(|field| field.name == name)
    }

    /// Returns the value of a field that may be missing or `None`.
    pub(super) fn optional(&self, name: &'static str) -> Option<&'n Node> {
        let mut node = &self.written(name)?.value;
        loop {
            match &node.value {
                Value::Option(Some(inner)) => node = inner,
                Value::Option(None) | Value::Broken => return None,
                _ => return Some(node),
            }
        }
    }

    /// Returns the value of a field; reports that it is missing.
    pub(super) fn required(&self, name: &'static str) -> Option<&'n Node> {
        let found = self.optional(name);
        let broken = self
            .written
            .iter()
            .any(|field| field.name == name && field.value.value == Value::Broken);
        if found.is_none() && !broken {
            self.source.fault_try(
                self.span,
                format!("this `{}` has no `{name}`", self.bracket),
                format!("{name}: {}", self.example(name)),
            );
        }
        found
    }

    /// Reports that a field holds something else than it should.
    fn wrong(&self, node: &Node, name: &str, wanted: &str) {
        if node.value != Value::Broken {
            self.source.fault_try(
                node.span,
                format!("`{name}` takes {wanted}, not {}", node.value.said()),
                format!("{name}: {}", self.example(name)),
            );
        }
    }

    /// Returns a text, with blanks at its ends taken off.
    pub(super) fn text_of(&self, node: &'n Node, name: &str) -> Option<&'n str> {
        if let Value::Text(text) = &node.value {
            Some(text)
        } else {
            self.wrong(node, name, "a text in quotes");
            None
        }
    }

    /// Returns an optional text.
    pub(super) fn text(&self, name: &'static str) -> Option<String> {
        let node = self.optional(name)?;
        self.text_of(node, name).map(str::to_owned)
    }

    /// Returns a text that must be there.
    pub(super) fn required_text(&self, name: &'static str) -> Option<String> {
        let node = self.required(name)?;
        self.text_of(node, name).map(str::to_owned)
    }

    /// Returns an id that must be there: letters, digits and hyphens.
    pub(super) fn id(&self, name: &'static str) -> Option<String> {
        let node = self.required(name)?;
        let id = self.text_of(node, name)?;
        let letter = |c: char| c.is_ascii_alphanumeric();
        if id.starts_with(letter) && id.chars().all(|c| letter(c) || c == '-') {
            if id.len() <= 60 {
                return Some(id.to_owned());
            }
            self.source.fault_try(
                node.span,
                format!("{} is longer than 60 characters", quoted(id)),
                "a short id; the name may be as long as it likes",
            );
            return None;
        }
        let mut made = String::new();
        for c in id.chars().take(60) {
            if letter(c) {
                made.push(c);
            } else if !made.is_empty() && !made.ends_with('-') {
                made.push('-');
            }
        }
        let made = made.trim_end_matches('-');
        self.source.fault_try(
            node.span,
            format!(
                "{} cannot be an id: it has letters, digits and hyphens only, and no hyphen first",
                quoted(id)
            ),
            if made.is_empty() {
                format!("{name}: {}", self.example(name))
            } else {
                format!("{name}: \"{made}\"")
            },
        );
        None
    }

    /// Returns what a node's text means.
    pub(super) fn phrase_of<T>(
        &self,
        node: &'n Node,
        name: &str,
        read: impl FnOnce(&str) -> Result<T, Trouble>,
    ) -> Option<T> {
        let text = self.text_of(node, name)?;
        match read(text) {
            Ok(meant) => Some(meant),
            Err(trouble) => {
                self.source
                    .fault_try(node.span, trouble.what, trouble.instead);
                None
            }
        }
    }

    /// Returns what an optional field's text means.
    pub(super) fn phrase<T>(
        &self,
        name: &'static str,
        read: impl FnOnce(&str) -> Result<T, Trouble>,
    ) -> Option<T> {
        let node = self.optional(name)?;
        self.phrase_of(node, name, read)
    }

    /// Returns what the text of a field means that must be there.
    pub(super) fn required_phrase<T>(
        &self,
        name: &'static str,
        read: impl FnOnce(&str) -> Result<T, Trouble>,
    ) -> Option<T> {
        let node = self.required(name)?;
        self.phrase_of(node, name, read)
    }

    fn count_of(&self, node: &'n Node, name: &str) -> Option<u32> {
        let number = match &node.value {
            Value::Int(number) => *number,
            Value::Text(text) if text.trim().parse::<u32>().is_ok() => {
                self.source.fault_try(
                    node.span,
                    format!("`{name}` takes a whole number without quotes"),
                    format!("{name}: {}", text.trim()),
                );
                return None;
            }
            _ => {
                self.wrong(node, name, "a whole number without quotes");
                return None;
            }
        };
        // More than this of anything is a slip of the pen, and sums of such counts still fit.
        if let Some(count) = u32::try_from(number)
            .ok()
            .filter(|&count| count <= 1_000_000)
        {
            Some(count)
        } else {
            self.source.fault_try(
                node.span,
                format!("`{name}` must lie between 0 and 1 000 000, not {number}"),
                format!("{name}: {}", self.example(name)),
            );
            None
        }
    }

    /// Returns an optional count.
    pub(super) fn count(&self, name: &'static str) -> Option<u32> {
        let node = self.optional(name)?;
        self.count_of(node, name)
    }

    /// Returns a count that must be there.
    pub(super) fn required_count(&self, name: &'static str) -> Option<u32> {
        let node = self.required(name)?;
        self.count_of(node, name)
    }

    fn list_of(&self, node: &'n Node, name: &str) -> Option<&'n [Node]> {
        if let Value::List(items) = &node.value {
            Some(items)
        } else {
            self.wrong(node, name, "a list in square brackets");
            None
        }
    }

    /// Returns a list; none written is an empty one.
    pub(super) fn list(&self, name: &'static str) -> &'n [Node] {
        self.optional(name)
            .and_then(|node| self.list_of(node, name))
            .unwrap_or_default()
    }

    /// Returns a list that must be there.
    pub(super) fn required_list(&self, name: &'static str) -> Option<&'n [Node]> {
        let node = self.required(name)?;
        self.list_of(node, name)
    }

    /// Returns a list of texts.
    pub(super) fn texts(&self, name: &'static str) -> Vec<String> {
        let items = self.list(name).iter();
        items
            .filter_map(|node| self.text_of(node, name).map(str::to_owned))
            .collect()
    }

    /// Returns one of several bare names.
    pub(super) fn variant_of<T: Copy>(
        &self,
        node: &'n Node,
        name: &str,
        variants: &[(&'static str, T)],
    ) -> Option<T> {
        let (Value::Name(word) | Value::Text(word)) = &node.value else {
            self.wrong(node, name, "a bare word");
            return None;
        };
        let found = variants.iter().find(|(known, _)| known == word);
        let bare = matches!(node.value, Value::Name(_));
        match found {
            Some(&(_, variant)) if bare => Some(variant),
            Some((known, _)) => {
                self.source.fault_try(
                    node.span,
                    format!("`{name}` takes {known} without quotes"),
                    *known,
                );
                None
            }
            None => {
                let known = variants.iter().map(|&(known, _)| known);
                let instead = match nearest(word, known.clone()) {
                    Some(near) => near.to_owned(),
                    None => format!("one of {}", known.collect::<Vec<_>>().join(", ")),
                };
                self.source.fault_try(
                    node.span,
                    format!("`{name}` cannot be `{}`", shortened(word)),
                    instead,
                );
                None
            }
        }
    }

    /// Returns one of several bare names, where one is written.
    pub(super) fn variant<T: Copy>(
        &self,
        name: &'static str,
        variants: &[(&'static str, T)],
    ) -> Option<T> {
        let node = self.optional(name)?;
        self.variant_of(node, name, variants)
    }

    /// Returns a list of bare names; nothing where none is written.
    pub(super) fn variants<T: Copy>(
        &self,
        name: &'static str,
        variants: &[(&'static str, T)],
    ) -> Option<Vec<T>> {
        let items = self.list_of(self.optional(name)?, name)?;
        let known = items
            .iter()
            .filter_map(|node| self.variant_of(node, name, variants));
        Some(known.collect())
    }

    /// Returns where each field's value stands.
    pub(super) fn spans(&self) -> Vec<(String, Span)> {
        let spans = self.written.iter();
        spans
            .map(|field| (field.name.clone(), field.value.span))
            .collect()
    }

    /// Reports every field that this kind of bracket does not have.
    pub(super) fn finish(self) {
        let known = table(self.bracket);
        debug_assert!(
            known
                .iter()
                .all(|(name, _)| self.asked.borrow().contains(name)),
            "every field of {} is asked for",
            self.bracket
        );
        for field in self.written {
            if known.iter().any(|(name, _)| *name == field.name) {
                continue;
            }
            let names = known.iter().map(|&(name, _)| name);
            let unused = names
                .clone()
                .filter(|name| self.written.iter().all(|field| field.name != *name));
            let instead = match nearest(&field.name, unused) {
                Some(near) => near.to_owned(),
                None => format!("one of {}", names.collect::<Vec<_>>().join(", ")),
            };
            self.source.fault_try(
                field.name_span,
                format!(
                    "`{}` has no field `{}`",
                    self.bracket,
                    shortened(&field.name)
                ),
                instead,
            );
        }
    }
}
