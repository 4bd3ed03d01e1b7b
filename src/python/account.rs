//! `Block`, and the account as a fragment of a web page.

use crate::account::account;
use crate::house::House;
use crate::units::UnitSystem;
use crate::words;
use pyo3::prelude::*;
use pyo3::types::PyTuple;
use std::fmt::Write as _;

/// A titled part of an assessment in words.
#[pyclass(frozen, eq, module = "studbay", name = "Block")]
#[derive(PartialEq)]
pub(crate) struct Block(pub(super) words::Block);

impl From<words::Block> for Block {
    fn from(block: words::Block) -> Self {
        Self(block)
    }
}

#[pymethods]
impl Block {
    /// `hold` (the work must not start), `check` (someone must look), `answer` or `plain`.
    #[getter]
    fn tone(&self) -> &'static str {
        self.0.tone.as_str()
    }

    /// Its title.
    #[getter]
    fn title(&self) -> &str {
        &self.0.title
    }

    /// Label and text of each line; a line without a label is a sentence.
    #[getter]
    fn lines<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, &self.0.lines)
    }

    fn __repr__(&self) -> String {
        format!("<Block {}: {} lines>", self.0.tone.as_str(), self.0.lines.len())
    }
}

/// The assessment in words.
pub(super) fn blocks(house: &House, units: UnitSystem, currency: &str) -> Vec<Block> {
    account(house, units, currency).into_iter().map(Block).collect()
}

/// Blocks of another account.
pub(super) fn wrapped(blocks: Vec<words::Block>) -> Vec<Block> {
    blocks.into_iter().map(Block).collect()
}

/// The blocks for a notebook: plain tags, and a bar that says how each is to be taken.
pub(super) fn html(id: &str, blocks: &[Block]) -> String {
    let mut page = String::from("<div class=\"studbay\">");
    let _ = write!(page, "<p><strong>{}</strong></p>", escaped(id));
    for Block(block) in blocks {
        let bar = match block.tone {
            words::Tone::Hold => "#b00020",
            words::Tone::Check => "#b26a00",
            words::Tone::Answer => "#00695c",
            words::Tone::Plain => "#9e9e9e",
        };
        let _ = write!(
            page,
            "<section style=\"border-left:4px solid {bar};padding-left:0.75em;margin:0.5em 0\">\
             <p><strong>{}</strong></p><table>",
            escaped(&block.title)
        );
        for (label, text) in &block.lines {
            let text = escaped(text);
            let _ = match label.as_str() {
                "" => {
                    write!(page, "<tr><td colspan=\"2\" style=\"text-align:left\">{text}</td></tr>")
                }
                label => write!(
                    page,
                    "<tr><th style=\"text-align:left\">{}</th>\
                     <td style=\"text-align:left\">{text}</td></tr>",
                    escaped(label)
                ),
            };
        }
        page.push_str("</table></section>");
    }
    page.push_str("</div>");
    page
}

pub(super) fn escaped(text: &str) -> String {
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
