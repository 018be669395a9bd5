//! The rebuild sheet as HTML: a whole document with a print style of its own, which fits A4 and Letter alike. It holds no
//! script and fetches nothing.

use super::{
    PageAbout, Paper,
    layout::{BIG, BOX, COLUMNS, LEAD, Layout, PAD, QR_MM, Row, SMALL, TITLE},
    letters::{Block, clipped},
    svg::COLUMN_HEADS,
};
use crate::{chart::escaped, verdict::RebuildSheet};
use std::fmt::Write as _;

/// What holds for every sheet; sizes of letters come with it.
const STYLE: &str = "
@page { size: auto; margin: 10mm; }
* { box-sizing: border-box; margin: 0; }
html { background: #fff; color: #000; }
body { width: 190mm; max-width: 100%; margin: 0 auto; font-family: Helvetica, Arial, 'Liberation Sans', sans-serif; overflow-wrap: anywhere; }
.page + .page { break-before: page; }
.top { display: flex; justify-content: space-between; gap: 2mm; margin-bottom: 2mm; }
.qr { flex: none; width: 30mm; height: 30mm; }
.head { margin-top: 2mm; }
.care { border: .3mm solid #000; padding: .9mm 2mm; margin: 2mm 0; }
table { border-collapse: collapse; table-layout: fixed; width: 100%; border-bottom: .3mm solid #000; }
th { text-align: start; font-weight: normal; padding: 0 2mm 1mm 0; }
td { border-top: .15mm solid #000; vertical-align: top; padding: .9mm 2mm .9mm 0; }
tr { break-inside: avoid; }
td:first-child, td:last-child, th:last-child { padding-right: 0; }
.box { position: relative; border: .3mm solid #000; padding: .9mm 1mm; }
.box .unit { position: absolute; right: 1mm; bottom: .3mm; }
.tick { display: block; width: 4.6mm; height: 4.6mm; margin: .8mm 1mm 0; border: .3mm solid #000; text-align: center; }
.signed { display: flex; gap: 2mm; margin-top: 4mm; }
.signed span { flex: 1; border-bottom: .2mm solid #000; }
@media screen { body { padding: 10mm 0; } .page + .page { margin-top: 15mm; } }
";

/// Writes the sheet.
pub fn rebuild_html(sheet: &RebuildSheet, about: &PageAbout) -> String {
    // As wide as the narrower paper and as high as the lower one.
    let [a4, letter] = [Paper::A4, Paper::Letter].map(Paper::size_mm);
    let layout = Layout::of(sheet, about, [a4[0].min(letter[0]), a4[1].min(letter[1])]);
    let mut text = head(&layout, &sheet.title);
    let pages = layout.pages.len();
    for (i, rows) in layout.pages.iter().enumerate() {
        text.push_str("<section class=\"page\">");
        if i == 0 {
            top(&mut text, &layout);
        } else {
            let title = layout.title.lines.first().map_or("", String::as_str);
            let _ = write!(text, "<p class=\"big\">{}, page {} of {pages}</p>", escaped(title), i + 1);
        }
        table(&mut text, rows);
        if i + 1 == pages {
            foot(&mut text, &layout);
        } else {
            let _ = write!(text, "<p class=\"big\">It continues on page {} of {pages}.</p>", i + 2);
        }
        text.push_str("</section>");
    }
    text.push_str("</body></html>\n");
    text
}

fn head(layout: &Layout, title: &str) -> String {
    let title = escaped(&clipped(title, 160));
    let mut style = STYLE.to_owned();
    for (class, letters, bold) in
        [("h1", TITLE, true), (".big", BIG, true), (".plain", BIG, false), (".small", SMALL, false)]
    {
        let weight = if bold { "bold" } else { "normal" };
        let size = layout.scale * letters;
        let _ = writeln!(
            style,
            "{class} {{ font-size: {size:.3}mm; line-height: {LEAD}; font-weight: {weight}; }}"
        );
    }
    let least = layout.scale * BOX;
    let _ = writeln!(style, ".box {{ min-height: {least:.3}mm; }}");
    const { assert!(QR_MM == 30.0 && PAD == 0.9, "as the style says") };
    format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" \
         content=\"width=device-width\"><meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; \
         style-src 'unsafe-inline'\"><title>Rebuild sheet: {title}</title><style>{style}</style></head><body>"
    )
}

fn top(text: &mut String, layout: &Layout) {
    let _ = write!(text, "<div class=\"top\"><div><h1>{}</h1>", escaped(&layout.title.words));
    let _ = write!(text, "<p class=\"small\">{}</p>", broken(&layout.about));
    let _ = write!(text, "<p class=\"big head\">{}</p></div>", escaped(&layout.head.words));
    if let Some(code) = &layout.code {
        text.push_str(&code.svg("QR code that opens this bow"));
    }
    text.push_str("</div>");
    let _ = write!(text, "<p class=\"care small\">{}</p>", escaped(&layout.cautions.words));
}

fn table(text: &mut String, rows: &[Row]) {
    text.push_str("<table><colgroup>");
    for wide in COLUMNS {
        let _ = write!(text, "<col style=\"width: {wide}mm\">");
    }
    text.push_str("<col></colgroup><thead><tr>");
    for head in COLUMN_HEADS {
        let _ = write!(text, "<th scope=\"col\" class=\"small\">{head}</th>");
    }
    text.push_str("</tr></thead><tbody>");
    rows.iter().for_each(|row| self::row(text, row));
    text.push_str("</tbody></table>");
}

fn row(text: &mut String, row: &Row) {
    let _ = write!(text, "<tr><td class=\"plain\">{}.</td>", row.number);
    let _ = write!(text, "<td class=\"big\">{}</td>", joined(&row.name));
    let _ = write!(text, "<td><p class=\"big\">{}</p>", joined(&row.target));
    let _ = write!(text, "<p class=\"small\">{}</p></td>", joined(&row.also));
    let own = if row.own { "<p class=\"small\"><b>own</b></p>" } else { "" };
    let _ = write!(text, "<td><p class=\"plain\">{}</p>{own}</td>", joined(&row.tolerance));
    if row.measured.is_empty() {
        let _ =
            write!(text, "<td><div class=\"box\"><span class=\"unit small\">{}</span></div></td>", row.unit);
    } else {
        let _ = write!(text, "<td><div class=\"box\"><p class=\"big\">{}</p>", joined(&row.measured));
        let _ = write!(text, "<p class=\"small\">{}</p></div></td>", joined(&row.off));
    }
    let (mark, word) = match row.right {
        Some(true) => ("✓", "right"),
        Some(false) => ("✗", "off"),
        None => ("", "to be ticked once it is right"),
    };
    let _ =
        write!(text, "<td><span class=\"tick plain\" role=\"img\" aria-label=\"{word}\">{mark}</span></td>");
    let first = if row.first.is_empty() { String::new() } else { format!("<b>{}</b> ", joined(&row.first)) };
    let _ = write!(text, "<td class=\"small\">{first}{}</td></tr>", joined(&row.how));
}

fn foot(text: &mut String, layout: &Layout) {
    let _ = write!(text, "<p class=\"small head\">{}</p>", broken(&layout.foot));
    text.push_str("<p class=\"signed plain\">");
    for words in ["Measured on", "by", "all right on"] {
        let _ = write!(text, "{words}<span></span>");
    }
    text.push_str("</p>");
}

/// Returns words as they were before they were broken into lines; the page breaks them anew.
fn joined(block: &Block) -> String {
    escaped(&block.words)
}

/// Returns blocks that begin anew.
fn broken(blocks: &[Block]) -> String {
    blocks.iter().map(joined).collect::<Vec<_>>().join("<br>")
}
