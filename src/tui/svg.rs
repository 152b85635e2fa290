//! A frame as an SVG picture, for a page that has no terminal.
//!
//! Every run of cells of one style is one `text` element; each is given its exact width, so that the columns
//! stand under each other whatever font the reader has. Control characters cannot be in a frame and are left
//! out all the same: XML 1.0 §2.2 forbids them.

use std::fmt::Write as _;
use std::io;

use ratatui::buffer::{Buffer, Cell, CellWidth};
use ratatui::style::{Color, Modifier};

const CELL: (f32, f32) = (8.4, 17.0);
const MARGIN: f32 = 12.0;
const GROUND: &str = "#16181d";
const INK: &str = "#d5d8de";

/// How a run of cells is painted.
#[derive(Clone, PartialEq)]
struct Paint {
    ink: String,
    ground: Option<String>,
    weight: Modifier,
}

/// Writes a frame as an SVG picture on dark ground.
pub fn write(frame: &Buffer, out: &mut impl io::Write) -> io::Result<()> {
    let area = frame.area;
    let width = f32::from(area.width) * CELL.0 + 2.0 * MARGIN;
    let height = f32::from(area.height) * CELL.1 + 2.0 * MARGIN;
    writeln!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0}" height="{height:.0}" viewBox="0 0 {width:.0} {height:.0}">"#
    )?;
    writeln!(
        out,
        r#"<rect width="100%" height="100%" rx="6" fill="{GROUND}"/>"#
    )?;
    writeln!(
        out,
        r#"<g font-family="ui-monospace, 'DejaVu Sans Mono', 'Liberation Mono', Menlo, Consolas, monospace" font-size="14" xml:space="preserve">"#
    )?;
    for y in 0..area.height {
        let mut x = 0;
        while x < area.width {
            let (run, end) = take_run(frame, x, y);
            write_run(out, frame, &run, x..end, y)?;
            x = end;
        }
    }
    writeln!(out, "</g>\n</svg>")
}

/// Returns the run that begins at a cell: cells of one paint, all narrow, or a single wide one.
fn take_run(frame: &Buffer, from: u16, y: u16) -> (Paint, u16) {
    let area = frame.area;
    let cell = |x: u16| &frame[(area.x + x, area.y + y)];
    let paint = paint_of(cell(from));
    let wide = cell(from).symbol().cell_width().max(1);
    if wide > 1 {
        return (paint, (from + wide).min(area.width));
    }
    let mut end = from + 1;
    while end < area.width && cell(end).symbol().cell_width() <= 1 && paint_of(cell(end)) == paint {
        end += 1;
    }
    (paint, end)
}

fn write_run(
    out: &mut impl io::Write,
    frame: &Buffer,
    paint: &Paint,
    columns: std::ops::Range<u16>,
    y: u16,
) -> io::Result<()> {
    let area = frame.area;
    let x = MARGIN + f32::from(columns.start) * CELL.0;
    let top = MARGIN + f32::from(y) * CELL.1;
    let wide = f32::from(columns.end - columns.start) * CELL.0;
    if let Some(ground) = &paint.ground {
        writeln!(
            out,
            r#"<rect x="{x:.1}" y="{top:.1}" width="{wide:.1}" height="{:.1}" fill="{ground}"/>"#,
            CELL.1
        )?;
    }
    let mut text = String::new();
    let mut column = columns.start;
    while column < columns.end {
        let symbol = frame[(area.x + column, area.y + y)].symbol();
        text.push_str(if symbol.is_empty() { " " } else { symbol });
        column += symbol.cell_width().max(1);
    }
    if text.trim().is_empty() && !paint.weight.contains(Modifier::UNDERLINED) {
        return Ok(());
    }
    let mut looks = String::new();
    if paint.weight.contains(Modifier::BOLD) {
        looks.push_str(r#" font-weight="bold""#);
    }
    if paint.weight.contains(Modifier::ITALIC) {
        looks.push_str(r#" font-style="italic""#);
    }
    if paint.weight.contains(Modifier::UNDERLINED) {
        looks.push_str(r#" text-decoration="underline""#);
    }
    if paint.weight.contains(Modifier::DIM) {
        looks.push_str(r#" opacity="0.62""#);
    }
    writeln!(
        out,
        r#"<text x="{x:.1}" y="{:.1}" textLength="{wide:.1}" lengthAdjust="spacingAndGlyphs" fill="{}"{looks}>{}</text>"#,
        top + CELL.1 * 0.76,
        paint.ink,
        escaped(&text)
    )
}

fn paint_of(cell: &Cell) -> Paint {
    let mut ink = hex(cell.fg).unwrap_or_else(|| INK.to_owned());
    let mut ground = hex(cell.bg);
    if cell.modifier.contains(Modifier::REVERSED) {
        let under = ground.take().unwrap_or_else(|| GROUND.to_owned());
        ground = Some(ink);
        ink = under;
    }
    let weight =
        cell.modifier & (Modifier::BOLD | Modifier::DIM | Modifier::ITALIC | Modifier::UNDERLINED);
    Paint {
        ink,
        ground,
        weight,
    }
}

fn hex(colour: Color) -> Option<String> {
    let known = match colour {
        Color::Reset => return None,
        Color::Black => "#3b3f4a",
        Color::Red => "#f2777a",
        Color::Green => "#8fc76f",
        Color::Yellow => "#e0c068",
        Color::Blue => "#7aa2e8",
        Color::Magenta => "#d38fd6",
        Color::Cyan => "#67c3cc",
        Color::Gray => "#aeb3bd",
        Color::DarkGray => "#7b818c",
        Color::LightRed => "#ff9a9c",
        Color::LightGreen => "#aee08f",
        Color::LightYellow => "#f2d98a",
        Color::LightBlue => "#9dbcf5",
        Color::LightMagenta => "#e6b0e8",
        Color::LightCyan => "#8fdde4",
        Color::White => "#f2f4f8",
        Color::Rgb(red, green, blue) => return Some(format!("#{red:02x}{green:02x}{blue:02x}")),
        Color::Indexed(index) => return Some(indexed(index)),
    };
    Some(known.to_owned())
}

/// The 256 colours of xterm: a cube of six levels and a ramp of greys (from memory).
fn indexed(index: u8) -> String {
    if index >= 232 {
        let level = 8 + 10 * u32::from(index - 232);
        return format!("#{level:02x}{level:02x}{level:02x}");
    }
    if index >= 16 {
        let level = |step: u8| {
            if step == 0 {
                0
            } else {
                55 + 40 * u32::from(step)
            }
        };
        let index = index - 16;
        return format!(
            "#{:02x}{:02x}{:02x}",
            level(index / 36),
            level(index / 6 % 6),
            level(index % 6)
        );
    }
    INK.to_owned()
}

fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            // Ordinary blanks would be run together by readers that do not mind `xml:space`.
            ' ' => safe.push('\u{a0}'),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {
                let _ = write!(safe, "\u{b7}");
            }
            c => safe.push(c),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::layout::Rect;
    use ratatui::style::Style;

    fn picture(buffer: &Buffer) -> String {
        let mut out = Vec::new();
        write(buffer, &mut out).expect("writes into memory");
        String::from_utf8(out).expect("is text")
    }

    #[test]
    fn text_is_escaped_and_wide_characters_take_two_columns() {
        let mut buffer = Buffer::with_lines(["a<&\"b>", "蜜柑 x "]);
        buffer.set_style(
            Rect::new(0, 0, 2, 1),
            Style::new().add_modifier(Modifier::REVERSED),
        );
        let svg = picture(&buffer);
        assert!(svg.contains("a&lt;"), "{svg}");
        assert!(svg.contains("&amp;&quot;b&gt;"), "{svg}");
        // The second wide character stands two columns after the first.
        assert!(
            svg.contains(&format!(
                r#"x="{:.1}" y="{:.1}" textLength="16.8""#,
                12.0 + 2.0 * 8.4,
                12.0 + 17.0 * 1.76
            )),
            "{svg}"
        );
        assert!(
            svg.contains(&format!(r#"fill="{INK}"/>"#)),
            "a reversed cell has the ink as its ground: {svg}"
        );
    }

    #[test]
    fn any_frame_gives_a_whole_picture() {
        for (width, height) in [(0, 0), (1, 1), (3, 2)] {
            let svg = picture(&Buffer::empty(Rect::new(0, 0, width, height)));
            assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>\n"));
        }
    }

    #[test]
    fn a_control_character_would_not_reach_the_picture() {
        let mut buffer = Buffer::empty(Rect::new(0, 0, 2, 1));
        buffer[(0, 0)].set_symbol("\u{9b}");
        assert!(
            !picture(&buffer)
                .chars()
                .any(|c| c.is_control() && c != '\n')
        );
    }
}
