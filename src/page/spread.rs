//! How a figure is spread over many houses, as a drawing.

use super::markup::{Drawing, short};
use crate::batch::spread::{Bin, FigureSpread};

const WIDTH: f64 = 380.0;
const HEIGHT: f64 = 230.0;
const LEFT: f64 = 56.0;
const RIGHT: f64 = 16.0;
const TOP: f64 = 12.0;
const BOTTOM: f64 = 52.0;
/// Where the line from P10 to P90 lies, below the bars.
const LINE: f64 = HEIGHT - BOTTOM + 11.0;

/// What the drawing writes: an edge, and a count.
pub(super) struct Labels<'l> {
    pub(super) edge: &'l dyn Fn(f64) -> String,
    pub(super) count: &'l dyn Fn(u64) -> String,
}

/// Bars of the bins, the line from P10 to P90 with the median below them.
pub(super) fn histogram(spread: &FigureSpread, labels: &Labels<'_>, title: &str) -> String {
    let mut drawing = Drawing::default();
    let most = spread.bins.iter().map(|bin| bin.houses).max().unwrap_or(0).max(1);
    let step = count_step(most);
    let top = most.div_ceil(step) * step;
    let floor = HEIGHT - BOTTOM;
    #[expect(clippy::cast_precision_loss, reason = "counts of houses, to be drawn")]
    let y = |houses: u64| floor - (floor - TOP) * houses as f64 / top as f64;
    let mut mark = 0;
    while mark <= top {
        drawing.line("grid", [LEFT, y(mark), WIDTH - RIGHT, y(mark)], "stroke=\"#c9cdc8\"");
        drawing.text("tick", LEFT - 6.0, y(mark) + 4.5, "end", &(labels.count)(mark));
        mark += step;
    }
    let slots = f64::from(u32::try_from(spread.bins.len()).unwrap_or(1).max(1));
    let width = (WIDTH - LEFT - RIGHT) / slots;
    let mut x = LEFT;
    for bin in &spread.bins {
        let open = bin.from.is_none() || bin.to.is_none();
        let look = if open {
            "fill=\"#4b8f96\" fill-opacity=\".45\" stroke=\"#0d5c63\" stroke-dasharray=\"3 2\""
        } else {
            "fill=\"#4b8f96\" stroke=\"#0d5c63\""
        };
        let height = floor - y(bin.houses);
        drawing.rect("bin", [x + 0.5, floor - height, (width - 1.0).max(0.5), height], look);
        x += width;
    }
    drawing.line("zero", [LEFT, floor, WIDTH - RIGHT, floor], "stroke=\"#1d2a30\"");
    edges(&mut drawing, &spread.bins, width, labels);
    let [p10, _, median, _, p90] = spread.quantiles;
    let place = |value: Option<f64>| value.map(|value| place(&spread.bins, width, value));
    if let (Some(from), Some(at), Some(to)) = (place(p10), place(median), place(p90)) {
        drawing.line("reach", [from, LINE, to, LINE], "stroke=\"#1d2a30\" stroke-width=\"3\"");
        for end in [from, to] {
            drawing.line("end", [end, LINE - 4.0, end, LINE + 4.0], "stroke=\"#1d2a30\"");
        }
        let (left, right) = (short(at - 5.0), short(at + 5.0));
        drawing.shape(
            "path",
            &format!(
                "class=\"median\" d=\"M{left} {line}L{at} {up}L{right} {line}L{at} {down}z\" fill=\"#fff\" stroke=\"#1d2a30\" stroke-width=\"1.5\"",
                line = short(LINE),
                at = short(at),
                up = short(LINE - 6.0),
                down = short(LINE + 6.0)
            ),
        );
    }
    drawing.finish(WIDTH, HEIGHT, title)
}

/// A few of the edges between the bins, written below them.
fn edges(drawing: &mut Drawing, bins: &[Bin], width: f64, labels: &Labels<'_>) {
    const ROOM: f64 = 62.0;
    let mut x = LEFT;
    let mut free = f64::NEG_INFINITY;
    for (place, bin) in bins.iter().enumerate() {
        let last = place + 1 == bins.len();
        let ends =
            [bin.from.map(|edge| (x, edge)), bin.to.filter(|_| last).map(|e| (x + width, e))];
        for (at, edge) in ends.into_iter().flatten() {
            if at - free >= ROOM {
                drawing.line(
                    "edge",
                    [at, HEIGHT - BOTTOM, at, HEIGHT - BOTTOM + 4.0],
                    "stroke=\"#1d2a30\"",
                );
                let anchor = if at > WIDTH - RIGHT - 20.0 { "end" } else { "middle" };
                drawing.text("tick", at, HEIGHT - 12.0, anchor, &(labels.edge)(edge));
                free = at;
            }
        }
        x += width;
    }
}

/// Where a value lies among the bins, as they are drawn.
fn place(bins: &[Bin], width: f64, value: f64) -> f64 {
    let mut x = LEFT;
    for bin in bins {
        if bin.to.is_none_or(|to| value < to) {
            let share = match (bin.from, bin.to) {
                (Some(from), Some(to)) => ((value - from) / (to - from)).clamp(0.0, 1.0),
                _ => 0.5,
            };
            return x + width * share;
        }
        x += width;
    }
    x
}

/// 1, 2 or 5 times a power of ten, so that a scale up to `most` has few marks.
fn count_step(most: u64) -> u64 {
    const MARKS: u64 = 5;
    let mut unit: u64 = 1;
    loop {
        for times in [1, 2, 5] {
            let step = unit.saturating_mul(times);
            if step.saturating_mul(MARKS) >= most {
                return step;
            }
        }
        unit = unit.saturating_mul(10);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_have_few_marks() {
        assert_eq!(count_step(1), 1);
        assert_eq!(count_step(7), 2);
        assert_eq!(count_step(2_600), 1_000);
        assert!(count_step(u64::MAX) > 1 << 60);
    }

    #[test]
    fn a_value_lies_within_its_bin() {
        let bins = [
            Bin { from: Some(0.0), to: Some(10.0), houses: 1 },
            Bin { from: Some(10.0), to: None, houses: 1 },
        ];
        assert_eq!(place(&bins, 100.0, 5.0), LEFT + 50.0);
        assert_eq!(place(&bins, 100.0, 1e9), LEFT + 150.0);
    }
}
