//! How a command gets at the book, whatever has become of its file.
//!
//! | who | damaged | held by another program | may not be written | is not there |
//! |---|---|---|---|---|
//! | [`to_write`]: a tick | kept aside, saved into a fresh one, said | waited for, then refused | refused | made, and said |
//! | [`to_look`]: plans, lists, pictures | what can be read, and said | a copy of it, and said | read | nothing |
//! | [`for_a_sheet`] | as to write, else as to look | as to look | as to look | as to write |
//!
//! A sheet opens in every case but one: where the name is wrong (a folder, another program's file, a later version's
//! book). There what was ticked lies elsewhere, and a sheet on which nothing has happened would be a lie.

use std::path::Path;
use std::time::Duration;

use super::carve::Carved;
use super::error::{BookError, Trouble};
use super::file::absolute;
use super::mend;
use super::store::{Book, PATIENCE};
use crate::time::Timestamp;

/// How long the opening of a sheet waits for another program to let go.
const A_MOMENT: Duration = Duration::from_millis(800);

/// A book got at.
#[derive(Debug)]
pub struct Access {
    /// The book.
    pub book: Book,
    /// Whether it was made just now.
    pub is_new: bool,
    /// What to tell of it, in sentences.
    pub remarks: Vec<String>,
    /// Why nothing can be written in it, where nothing can.
    pub refused: Option<BookError>,
}

impl Access {
    fn sound(book: Book) -> Self {
        Self {
            book,
            is_new: false,
            remarks: Vec::new(),
            refused: None,
        }
    }
}

/// Opens the book at `path` to write in it; makes it where there is none, and mends it where it is damaged. `now`
/// dates the damaged file that is kept aside.
pub fn to_write(path: &Path, now: Timestamp) -> Result<Access, BookError> {
    to_write_patiently(path, now, PATIENCE)
}

fn to_write_patiently(
    path: &Path,
    now: Timestamp,
    patience: Duration,
) -> Result<Access, BookError> {
    let path = absolute(path)?;
    let is_new = path.metadata().map_or(true, |about| about.len() == 0);
    let fault = if mend::is_under_way(&path) {
        "mending it was interrupted".to_owned()
    } else {
        match sound(&path, patience) {
            Ok(book) => {
                return Ok(Access {
                    is_new,
                    ..Access::sound(book)
                });
            }
            Err(error) if error.is_damage() => fault(&error),
            Err(error) => return Err(error),
        }
    };
    let mended = mend::mend(&path, now, || {
        sound(&path, patience).err().filter(BookError::is_damage)
    })?;
    let mut access = Access::sound(sound(&path, patience)?);
    if let Some(mended) = mended {
        access.remarks.push(mended.sentence(&path, &fault));
    }
    Ok(access)
}

/// Opens the book at `path` only to look; nothing is made or mended. `None` where there is none.
pub fn to_look(path: &Path) -> Result<Option<Access>, BookError> {
    let path = absolute(path)?;
    let looked = if mend::log_is_damaged(&path) {
        Err(damaged_log(&path))
    } else {
        Book::look(&path).and_then(|book| {
            if let Some(book) = &book {
                book.examine()?;
            }
            Ok(book)
        })
    };
    let error = match looked {
        Ok(book) => return Ok(book.map(Access::sound)),
        Err(error) => error,
    };
    let held = matches!(error.trouble, Trouble::Locked);
    if !held && !error.is_damage() {
        return Err(error);
    }
    let Ok((carved, true)) = mend::read(&path) else {
        return Err(error);
    };
    let remark = if held {
        format!(
            "another program holds the book {}; what it holds is shown as it stands on the disk at this moment",
            path.display()
        )
    } else {
        damage(&path, &carved, &fault(&error))
    };
    Ok(Some(Access {
        remarks: vec![remark],
        refused: Some(error),
        ..Access::sound(Book::of(&carved, &path)?)
    }))
}

/// Opens the book at `path` for a sheet: to write where that is possible, else to look, with why nothing can be
/// written first among the remarks. The cook waits for the sheet, so another program that holds the book is waited for
/// only a moment, also by what is done with the book next: [`Book::wait_at_most`] gives it the patience of a tick.
pub fn for_a_sheet(path: &Path, now: Timestamp) -> Result<Access, BookError> {
    let error = match to_write_patiently(path, now, A_MOMENT) {
        Err(error) => error,
        opened => return opened,
    };
    if matches!(
        error.trouble,
        Trouble::IsFolder | Trouble::OtherProgram | Trouble::Newer { .. } | Trouble::NoFolder(_)
    ) {
        return Err(error);
    }
    let looked = match to_look(path) {
        Ok(Some(access)) => access,
        // There is nothing to show of it; the plan can be shown all the same.
        Ok(None) => Access::sound(Book::in_memory()?),
        Err(looked) => Access {
            remarks: vec![
                "what was ticked cannot be read: the sheet shows the plan as if nothing had been done yet"
                    .to_owned(),
            ],
            refused: Some(looked),
            ..Access::sound(Book::in_memory()?)
        },
    };
    let mut remarks = vec![format!("nothing can be ticked: {error}")];
    remarks.extend(looked.remarks);
    Ok(Access {
        remarks,
        refused: Some(error),
        ..looked
    })
}

/// Opens a book and looks all of it through.
fn sound(path: &Path, patience: Duration) -> Result<Book, BookError> {
    if mend::log_is_damaged(path) {
        return Err(damaged_log(path));
    }
    let book = Book::open_patiently(path, patience)?;
    book.examine()?;
    Ok(book)
}

fn damaged_log(path: &Path) -> BookError {
    BookError::new(
        path,
        Trouble::Damaged("its log is broken in the middle".to_owned()),
    )
}

fn fault(error: &BookError) -> String {
    match &error.trouble {
        Trouble::Damaged(detail) => detail.clone(),
        _ => "its first line is not that of a book".to_owned(),
    }
}

fn damage(path: &Path, carved: &Carved, fault: &str) -> String {
    format!(
        "the book {} is damaged ({fault}); {} could be read; nothing in it was changed: opening the sheet, or a tick, \
         keeps the damaged file aside and saves what can be saved into a fresh book",
        path.display(),
        mend::counted(carved.rows.len())
    )
}
