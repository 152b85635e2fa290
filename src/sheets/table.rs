//! Tables on a page and for spreadsheets.
//!
//! A table for a spreadsheet is RFC 4180: lines end in CR LF, a field with a comma, a quote or a line end stands in quotes.
//! A spreadsheet takes a field that begins with `=`, `+`, `-`, `@`, a tab or a line end for a formula, quoted or not (OWASP,
//! "CSV Injection"); such a field gets an apostrophe in front, which makes it text. A number below nought is a number and
//! stays one. Nothing in a field acts on a terminal either, should the table be looked at on one.

use std::io;

use super::page::{NARROWEST, hang};
use crate::text::{clean_lines, columns, pad, wrap};

const GAP: &str = "  ";

/// One row of a table on a page.
pub(super) struct Row {
    /// Its cells, one for each column.
    pub(super) cells: Vec<String>,
    /// What stands below it.
    pub(super) remark: String,
}

/// Writes a table: each column as wide as its longest cell wants, the widest ones narrower where the page is.
pub(super) fn write(
    heads: &[&str],
    rows: &[Row],
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let width = width.max(NARROWEST);
    let mut wide: Vec<usize> = heads.iter().map(|head| columns(head)).collect();
    for row in rows {
        for (cell, wide) in row.cells.iter().zip(&mut wide) {
            *wide = (*wide).max(columns(cell));
        }
    }
    let room = width.saturating_sub(GAP.len() * heads.len().saturating_sub(1));
    while wide.iter().sum::<usize>() > room {
        let Some(widest) = wide.iter_mut().max() else {
            break;
        };
        if *widest <= 6 {
            break;
        }
        *widest -= 1;
    }
    line(heads.iter().map(|&head| head.to_owned()), &wide, out)?;
    let indent = wide.first().map_or(0, |first| first + GAP.len());
    for row in rows {
        line(row.cells.iter().cloned(), &wide, out)?;
        if !row.remark.is_empty() {
            hang(&row.remark, indent, width, out)?;
        }
    }
    Ok(())
}

fn line(
    cells: impl Iterator<Item = String>,
    wide: &[usize],
    out: &mut impl io::Write,
) -> io::Result<()> {
    let wrapped: Vec<Vec<String>> = cells
        .zip(wide)
        .map(|(cell, &wide)| wrap(&cell, wide))
        .collect();
    let height = wrapped.iter().map(Vec::len).max().unwrap_or(0);
    for row in 0..height {
        let mut line = String::new();
        for (cell, &wide) in wrapped.iter().zip(wide) {
            line.push_str(&pad(cell.get(row).map_or("", String::as_str), wide));
            line.push_str(GAP);
        }
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}

/// Writes a table for a spreadsheet.
pub(super) fn write_csv<R>(
    heads: &[&str],
    rows: impl IntoIterator<Item = R>,
    out: &mut impl io::Write,
) -> io::Result<()>
where
    R: IntoIterator<Item = String>,
{
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(out);
    writer.write_record(heads)?;
    for row in rows {
        let fields = row.into_iter().map(|field| clean_lines(&defused(field)));
        writer.write_record(fields)?;
    }
    writer.flush()
}

/// Returns a field that no spreadsheet takes for a formula.
fn defused(field: String) -> String {
    let leads = ['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'];
    if !field.starts_with(leads) || is_negative(&field) {
        return field;
    }
    format!("'{field}")
}

/// Returns whether a field is a number below nought, written plainly.
fn is_negative(field: &str) -> bool {
    let Some(number) = field.strip_prefix('-') else {
        return false;
    };
    let (whole, part) = number.split_once('.').unwrap_or((number, "0"));
    let figures = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    figures(whole) && figures(part)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(rows: &[&[&str]]) -> String {
        let rows = rows
            .iter()
            .map(|row| row.iter().map(|&cell| cell.to_owned()));
        let mut out = Vec::new();
        write_csv(&["a", "b"], rows, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    /// RFC 4180, section 2: CR LF after every record, quotes doubled, blanks kept.
    #[test]
    fn records_as_the_standard_has_them() {
        let found = written(&[&["1,5", "a \"b\""], &["two\nlines", " blank "]]);
        assert_eq!(
            found,
            "a,b\r\n\"1,5\",\"a \"\"b\"\"\"\r\n\"two\nlines\", blank \r\n"
        );
    }

    /// OWASP, "CSV Injection": the characters a formula begins with; quoting alone does not stop one.
    #[test]
    fn no_field_is_a_formula_and_numbers_stay_numbers() {
        for formula in [
            "=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "＝1", "-", "--5",
        ] {
            let found = written(&[&[formula, "x"]]);
            let field = found.strip_prefix("a,b\r\n").unwrap();
            assert!(
                field.trim_start_matches('"').starts_with('\''),
                "{formula:?}: {field:?}"
            );
        }
        assert_eq!(written(&[&["-5", "-0.25"]]), "a,b\r\n-5,-0.25\r\n");
        assert_eq!(written(&[&["5", "a-b"]]), "a,b\r\n5,a-b\r\n");
        assert!(!written(&[&["\u{1b}[2J", "x"]]).contains('\u{1b}'));
    }
}
