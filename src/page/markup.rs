//! Text that is data, made harmless.

use std::fmt::Write as _;

/// Text with its markup signs written out, for elements and attributes alike.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}

/// Text as it may be shown: what would garble a line or turn its direction shows as the sign for an unreadable character.
pub(crate) fn shown(text: &str) -> String {
    let harmless = |letter: char| match letter {
        '\t' | '\n' | '\r' => ' ',
        '\u{0}'..='\u{1f}'
        | '\u{7f}'..='\u{9f}'
        | '\u{61c}'
        | '\u{200b}'..='\u{200f}'
        | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}'
        | '\u{feff}'
        | '\u{fff9}'..='\u{fffb}' => '\u{fffd}',
        other => other,
    };
    text.chars().map(harmless).collect()
}

/// A drawing under way.
#[derive(Debug, Default)]
pub(crate) struct Drawing {
    body: String,
}

impl Drawing {
    /// An element without content: its name and its attributes, which are written by the crate, never by a user.
    pub(crate) fn shape(&mut self, element: &str, attributes: &str) {
        let _ = write!(self.body, "<{element} {attributes}/>");
    }

    pub(crate) fn rect(&mut self, class: &str, [x, y, width, height]: [f64; 4], more: &str) {
        let (x, y, width, height) = (short(x), short(y), short(width), short(height));
        let _ = write!(
            self.body,
            "<rect class=\"{class}\" x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" {more}/>"
        );
    }

    pub(crate) fn line(&mut self, class: &str, [x1, y1, x2, y2]: [f64; 4], more: &str) {
        let (x1, y1, x2, y2) = (short(x1), short(y1), short(x2), short(y2));
        let _ = write!(
            self.body,
            "<line class=\"{class}\" x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\" {more}/>"
        );
    }

    /// Text at a place; `anchor` is `start`, `middle` or `end`.
    pub(crate) fn text(&mut self, class: &str, x: f64, y: f64, anchor: &str, text: &str) {
        let (x, y) = (short(x), short(y));
        let text = escaped(&shown(text));
        let _ = write!(
            self.body,
            "<text class=\"{class}\" x=\"{x}\" y=\"{y}\" text-anchor=\"{anchor}\">{text}</text>"
        );
    }

    /// Markup made by the crate.
    pub(crate) fn raw(&mut self, markup: &str) {
        self.body.push_str(markup);
    }

    /// The drawing with its description, for those who do not see it.
    pub(crate) fn finish(self, width: f64, height: f64, title: &str) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" role=\"img\" \
             aria-label=\"{title}\" font-family=\"system-ui, sans-serif\" font-size=\"13\" fill=\"#1d2a30\">\
             {}</svg>",
            short(width),
            short(height),
            self.body,
            title = escaped(&shown(title)),
        )
    }
}

/// A coordinate with at most two decimals.
pub(crate) fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_of_direction_and_control_are_shown_as_unreadable() {
        assert_eq!(shown("a\u{202e}b\u{0}c\nd"), "a\u{fffd}b\u{fffd}c d");
        assert_eq!(escaped("<script>\"'&"), "&lt;script&gt;&quot;&#39;&amp;");
        assert_eq!(short(-0.001), "0");
        assert_eq!(short(10.0), "10");
    }
}
