//! One time of one step changed in the file that a cook wrote, and nothing else in it.
//!
//! A card is the cook's own text: its comments, its order, its blanks are worth more than any program's idea of
//! layout. So the file is not written anew. The reader of `syntax` knows where the value stands, and only the bytes of
//! that value are replaced. Before anything reaches the disk the whole menu is read again with the changed text in
//! place, and must be the old menu with this one time changed and no other difference; otherwise nothing is written.
//!
//! The new text goes into a file beside the old one, is synced, and takes its name: at every moment one of the two is
//! there whole. A file that changed meanwhile, or may only be read, is left alone.
//!
//! Left out on purpose: a file's other names (hard links) keep the old text; a link is followed to its file.

use std::fmt;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::fault::{Collected, Source};
use super::shelf::{self, Folder, Shelf};
use super::syntax::{self, Field, Node, Span, Value, harmless};
use super::{Faults, Place, menu_text};
use crate::menu::{Menu, StepTime, words};

/// A change that would hold, not yet written.
#[derive(Clone, Debug)]
pub struct Edit {
    file: PathBuf,
    place: Place,
    was: String,
    is: String,
    before: String,
    after: String,
    menu: Menu,
}

/// Why a time cannot be changed in its file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EditError {
    /// A file cannot be read or written; which, and why.
    File(String),
    /// The menu has faults, so that nothing can be changed in it.
    Faults(Faults),
    /// The step's time stands nowhere it could be changed; in words.
    NotFound(String),
    /// The changed text would change more than this time, or be at fault; in words.
    Refused(String),
}

impl fmt::Display for EditError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File(said) | Self::NotFound(said) | Self::Refused(said) => f.write_str(said),
            Self::Faults(faults) => write!(f, "{faults}"),
        }
    }
}

impl std::error::Error for EditError {}

impl Edit {
    /// Returns where the time stands.
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// Returns the value as it is written in the file, and as it would be.
    pub fn change(&self) -> (&str, &str) {
        (&self.was, &self.is)
    }

    /// Returns the file's text as it would be.
    pub fn text(&self) -> &str {
        &self.after
    }

    /// Returns the menu as it would be.
    pub fn menu(&self) -> &Menu {
        &self.menu
    }

    /// Writes the file. When this fails the file is as it was.
    pub fn write(&self) -> Result<(), EditError> {
        let failed = |error: &io::Error| {
            EditError::File(format!(
                "{}: {}; nothing in it was changed",
                harmless(&self.file.display().to_string()),
                match error.kind() {
                    io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem =>
                        "this file may not be written here; allow writing to it and its folder"
                            .to_owned(),
                    io::ErrorKind::StorageFull =>
                        "the disk is full; make room and do it again".to_owned(),
                    io::ErrorKind::ResourceBusy =>
                        "this file has changed since it was read; do it again".to_owned(),
                    _ => format!("this file cannot be written: {error}"),
                }
            ))
        };
        self.replace().map_err(|error| failed(&error))
    }

    fn replace(&self) -> io::Result<()> {
        // A link stays a link: the file it leads to is replaced.
        let file = fs::canonicalize(&self.file)?;
        let about = fs::metadata(&file)?;
        if about.permissions().readonly() {
            return Err(io::ErrorKind::PermissionDenied.into());
        }
        let name = file.file_name().ok_or(io::ErrorKind::InvalidInput)?;
        let mut hidden = std::ffi::OsString::from(".");
        hidden.push(name);
        hidden.push(format!(".{}", std::process::id()));
        let fresh = Fresh::make(file.with_file_name(hidden))?;
        {
            let mut out = &fresh.file;
            out.write_all(self.after.as_bytes())?;
            keep_owner(&fresh.path, &about);
            out.set_permissions(about.permissions())?;
            out.sync_all()?;
        }
        if shelf::read(&file)? != self.before {
            return Err(io::ErrorKind::ResourceBusy.into());
        }
        fs::rename(&fresh.path, &file)
    }
}

/// A file on its way; it goes again unless it has got another name by then.
struct Fresh {
    path: PathBuf,
    file: File,
}

impl Fresh {
    fn make(path: PathBuf) -> io::Result<Self> {
        let file = OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&path)?;
        Ok(Self { path, file })
    }
}

impl Drop for Fresh {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.path);
    }
}

/// Leaves the file with whom it belonged to, where we may do that.
#[cfg(unix)]
fn keep_owner(path: &Path, about: &fs::Metadata) {
    use std::os::unix::fs::MetadataExt;
    let _ = std::os::unix::fs::chown(path, Some(about.uid()), Some(about.gid()));
}

#[cfg(not(unix))]
fn keep_owner(_: &Path, _: &fs::Metadata) {}

/// Returns what to change so that the step takes this time; `menu` is the file of the menu, in which the dish stands or
/// which names the dish's file. Nothing is written yet.
pub fn step_time(menu: &Path, dish: &str, step: &str, time: &StepTime) -> Result<Edit, EditError> {
    let name = menu.display().to_string();
    let text = read(menu)?;
    let folder = Folder::of(menu);
    let old = menu_text(&name, &text, &folder).map_err(EditError::Faults)?;
    let (card, card_name, card_text) = match find(&name, &text, dish, step) {
        Found::Here(span) => (None, name.clone(), (text.clone(), span)),
        Found::Elsewhere(files) => {
            let within = |path: String| {
                let file = menu.with_file_name("").join(&path);
                let card = read(&file).ok()?;
                match find(&path, &card, dish, step) {
                    Found::Here(span) => Some((path, card, span)),
                    Found::Elsewhere(_) => None,
                }
            };
            let Some((path, card, span)) = files.into_iter().find_map(within) else {
                return Err(EditError::NotFound(format!(
                    "{}/{}: no time of this step stands in {} or a file it names",
                    harmless(dish),
                    harmless(step),
                    harmless(&name)
                )));
            };
            let shown = menu.with_file_name("").join(&path).display().to_string();
            (Some(path), shown, (card, span))
        }
    };
    let (before, span) = card_text;
    // Digits, letters, blanks and dots: nothing that a text would have to escape.
    let is = format!("\"{}\"", words::time(time));
    let mut after = before.clone();
    after.replace_range(span.start..span.end, &is);

    let read_again = match &card {
        None => menu_text(&name, &after, &folder),
        Some(path) => menu_text(
            &name,
            &text,
            &With {
                folder: &folder,
                path,
                text: &after,
            },
        ),
    };
    let new = read_again.map_err(|faults| {
        EditError::Refused(format!(
            "the menu would be at fault with {is}, so nothing was changed:\n{faults}"
        ))
    })?;
    let mut wanted = old.menu;
    for of_menu in wanted.dishes.iter_mut().filter(|other| other.id == dish) {
        for of_dish in of_menu.steps.iter_mut().filter(|other| other.id == step) {
            of_dish.time = time.clone();
        }
    }
    if new.menu != wanted {
        return Err(EditError::Refused(format!(
            "{}/{}: {is} would change more than this one time, so nothing was changed",
            harmless(dish),
            harmless(step)
        )));
    }
    let faults = Collected::default();
    let place = Source::new(&card_name, &before, &faults).place(span.start);
    let file = card.map_or_else(
        || menu.to_owned(),
        |path| menu.with_file_name("").join(path),
    );
    Ok(Edit {
        file,
        place,
        was: before[span.start..span.end].to_owned(),
        is,
        before,
        after,
        menu: wanted,
    })
}

fn read(file: &Path) -> Result<String, EditError> {
    shelf::read(file).map_err(|error| {
        let file = harmless(&file.display().to_string());
        EditError::File(format!("{file}: {}", shelf::said(&error)))
    })
}

/// The menu's folder, with another text in place of one file.
struct With<'a> {
    folder: &'a Folder,
    path: &'a str,
    text: &'a str,
}

impl Shelf for With<'_> {
    fn read(&self, path: &str) -> io::Result<String> {
        if path == self.path {
            return Ok(self.text.to_owned());
        }
        self.folder.read(path)
    }
}

/// Where the time of a step stands.
enum Found {
    /// In this text.
    Here(Span),
    /// Not in this text; these files are named where dishes stand.
    Elsewhere(Vec<String>),
}

/// Looks for the time of a step in a menu's or a dish's text.
fn find(name: &str, text: &str, dish: &str, step: &str) -> Found {
    // The places of `syntax` are those of a text without its byte-order mark.
    let plain = text.strip_prefix('\u{feff}').unwrap_or(text);
    let shift = text.len() - plain.len();
    let faults = Collected::default();
    let top = syntax::read(&Source::new(name, plain, &faults));
    let here = |node: &Node| {
        time_of(node, dish, step).map(|span| Span::new(span.start + shift, span.end + shift))
    };
    if let Some(span) = here(&top) {
        return Found::Here(span);
    }
    let mut files = Vec::new();
    for serve in items(fields(&top), "dishes") {
        let Some(node) = field(fields(serve), "dish") else {
            continue;
        };
        if let Some(span) = here(node) {
            return Found::Here(span);
        }
        if let Value::Tuple(Some(name), items) = &node.value
            && name == "File"
            && let [path] = items.as_slice()
            && let Value::Text(path) = &path.value
        {
            files.push(path.clone());
        }
    }
    Found::Elsewhere(files)
}

/// Returns where the time of a step stands in a dish.
fn time_of(node: &Node, dish: &str, step: &str) -> Option<Span> {
    let is_called = |node: &Node, id: &str| {
        let found = field(fields(node), "id").map(|id| &id.value);
        matches!(found, Some(Value::Text(text)) if text.trim() == id)
    };
    if !is_called(node, dish) {
        return None;
    }
    let steps = items(fields(node), "steps");
    let step = steps.iter().find(|node| is_called(node, step))?;
    let time = field(fields(step), "time")?;
    matches!(time.value, Value::Text(_)).then_some(time.span)
}

fn fields(node: &Node) -> &[Field] {
    match &node.value {
        Value::Struct(_, fields) => fields,
        Value::Option(Some(inner)) => fields(inner),
        _ => &[],
    }
}

/// Returns the value of a field, out of any `Some(…)` around it.
fn field<'n>(fields: &'n [Field], name: &str) -> Option<&'n Node> {
    let mut node = &fields.iter().find(|field| field.name == name)?.value;
    while let Value::Option(Some(inner)) = &node.value {
        node = inner;
    }
    Some(node)
}

fn items<'n>(fields: &'n [Field], name: &str) -> &'n [Node] {
    match field(fields, name).map(|node| &node.value) {
        Some(Value::List(items)) => items,
        _ => &[],
    }
}
