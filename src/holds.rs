//! Holds and checks in words: what comes before any figure of a house.

use crate::house::{Assessment, House, assess};
use crate::readiness::{Finding, FindingDef, Readiness, Weight};
use crate::words::{Block, LOCAL_CODE, Tone, sentence};

/// Holds, then checks; a house with neither is still not certified.
pub(crate) fn holds_and_checks(assessment: &Assessment) -> Vec<Block> {
    let findings = |weight| {
        let of_weight = move |finding: &Finding| finding.def().weight == weight;
        assessment.findings.iter().filter(of_weight).map(Finding::def)
    };
    let mut blocks = Vec::new();
    let readiness = assessment.readiness();
    if readiness == Readiness::Hold {
        let mut block = Block::new(Tone::Hold, "HOLD: the work must not start");
        block.line("", "No fibre may be blown until every point here is cleared.");
        findings(Weight::Hold).for_each(|def| finding(&mut block, def));
        block.line("", LOCAL_CODE);
        blocks.push(block);
    }
    let mut checks = findings(Weight::Check).peekable();
    if checks.peek().is_some() {
        let mut block = Block::new(Tone::Check, "CHECK: someone must look before the work starts");
        checks.for_each(|def| finding(&mut block, def));
        block.line("", LOCAL_CODE);
        blocks.push(block);
    }
    if readiness == Readiness::Clear {
        let title = "Nothing that was asked about stands in the way";
        let mut block = Block::new(Tone::Plain, title);
        block.line("", "This is no certificate: it repeats the answers that were given.");
        block.line("", LOCAL_CODE);
        blocks.push(block);
    }
    blocks
}

/// The holds alone, which come first in every account of a house.
pub(crate) fn holds(house: &House) -> impl Iterator<Item = Block> {
    holds_and_checks(&assess(house)).into_iter().filter(|block| block.tone == Tone::Hold)
}

fn finding(block: &mut Block, def: &FindingDef) {
    let source = def.citation.map(|citation| format!(" [{citation}]")).unwrap_or_default();
    block.line("", format!("{}{source}", sentence(def.reason)));
    block.line("May be cleared by", def.cleared_by);
}
