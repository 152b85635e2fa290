//! Rows of a table for a spreadsheet.
//!
//! Records as RFC 4180 has them: fields between commas, CRLF behind each, a field with a comma, a quote or a line
//! break in quotes and its quotes doubled. Quoting does not keep a spreadsheet from reckoning a field that begins
//! like a formula (OWASP, *CSV Injection*), so such a text gets a single quote in front; a number keeps its sign.

/// Returns one record, its line break included.
pub fn record<'f>(fields: impl IntoIterator<Item = &'f str>) -> String {
    let fields: Vec<_> = fields.into_iter().map(field).collect();
    fields.join(",") + "\r\n"
}

fn field(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']);
    let text = if formula && text.parse::<f64>().is_err() {
        format!("'{text}")
    } else {
        text.to_owned()
    };
    if text.contains([',', '"', '\r', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn records_are_those_of_the_rfc() {
        // RFC 4180 §2, 1, 6 and 7.
        assert_eq!(record(["aaa", "bbb", "ccc"]), "aaa,bbb,ccc\r\n");
        assert_eq!(
            record(["aaa", "b\r\nbb", "c,c"]),
            "aaa,\"b\r\nbb\",\"c,c\"\r\n"
        );
        assert_eq!(record(["a\"b", " c "]), "\"a\"\"b\", c \r\n");
    }

    #[test]
    fn formulas_are_defused_and_numbers_are_not() {
        assert_eq!(
            record(["=1+1", "+x", "-2", "-2.5e3", "@sum", "\tx", "-a"]),
            "'=1+1,'+x,-2,-2.5e3,'@sum,'\tx,'-a\r\n"
        );
        assert_eq!(record(["=\"a\""]), "\"'=\"\"a\"\"\"\r\n");
    }
}
