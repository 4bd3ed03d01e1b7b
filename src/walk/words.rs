//! The walk in words, for three readers. They differ in length, never in substance: each names the
//! point, the surfaces, why it matters, and who may clear it.

use super::{Point, Walk};
use crate::house::{Clearance, Question, Reach, Role};
use crate::readiness::{Answer, Readiness, Weight};
use crate::words::{Block, LOCAL_CODE, Tone, sentence};

/// Who reads it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reader {
    /// The crew and its leader: everything.
    Contractor,
    /// Who talks to the owner about it.
    Salesperson,
    /// Who lives there.
    Owner,
}

impl Reader {
    /// Every reader.
    pub const ALL: [Self; 3] = [Self::Contractor, Self::Salesperson, Self::Owner];

    /// The word that a user writes.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Contractor => "contractor",
            Self::Salesperson => "salesperson",
            Self::Owner => "owner",
        }
    }

    /// The reader of a word.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|reader| reader.key() == key)
    }
}

/// Points that say the same of several surfaces.
struct Group<'w> {
    question: Question,
    answer: Answer,
    points: Vec<&'w Point>,
}

impl Group<'_> {
    fn places(&self) -> String {
        listed(self.points.iter().map(|point| point.label.as_str()))
    }
}

fn groups<'w>(points: impl Iterator<Item = &'w Point>) -> Vec<Group<'w>> {
    let mut groups: Vec<Group<'w>> = Vec::new();
    for point in points {
        let (question, answer) = (point.standing.question, point.standing.answer);
        match groups.iter_mut().find(|g| g.question == question && g.answer == answer) {
            Some(group) => group.points.push(point),
            None => groups.push(Group { question, answer, points: vec![point] }),
        }
    }
    groups
}

/// `a, b and c`.
fn listed<'a>(items: impl Iterator<Item = &'a str>) -> String {
    let mut names: Vec<&str> = Vec::new();
    for item in items {
        if !names.contains(&item) {
            names.push(item);
        }
    }
    match names.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// With its first letter large.
fn opening(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

impl Walk {
    /// The walk in words for a reader: holds, checks, what was cleared, then the rest.
    pub fn account(&self, reader: Reader) -> Vec<Block> {
        let mut blocks = Vec::new();
        let held = groups(self.of_weight(Weight::Hold));
        if self.readiness == Readiness::Hold {
            let mut block = Block::new(Tone::Hold, "HOLD: the work must not start");
            for group in &held {
                block.line(opening(group.question.def().topic), hold(group, reader));
            }
            block.line("", LOCAL_CODE);
            blocks.push(block);
        }
        let checks = groups(self.of_weight(Weight::Check));
        if !checks.is_empty() {
            let mut block =
                Block::new(Tone::Check, "CHECK: someone must look before the work starts");
            for group in &checks {
                block.line(opening(group.question.def().topic), check(group, reader));
            }
            block.line("", LOCAL_CODE);
            blocks.push(block);
        }
        if self.readiness == Readiness::Clear {
            let title = "Nothing that was asked about stands in the way";
            let mut block = Block::new(Tone::Plain, title);
            block.line("", "This is no certificate: it repeats the answers that were given.");
            block.line("", LOCAL_CODE);
            blocks.push(block);
        }
        blocks.extend(self.recorded());
        blocks.extend(match reader {
            Reader::Contractor => self.in_full(),
            Reader::Salesperson | Reader::Owner => self.answered_no(),
        });
        blocks
    }

    /// Every look that is recorded.
    pub(crate) fn recorded(&self) -> Option<Block> {
        let mut block = Block::new(Tone::Plain, "Looks on record");
        for (index, look) in self.looks.iter().enumerate() {
            block.line(opening(look.question.def().topic), self.look(index, look));
        }
        (!block.lines.is_empty()).then_some(block)
    }

    fn look(&self, index: usize, look: &Clearance) -> String {
        let counted = |point: &&Point| point.standing.looks.contains(&index);
        let points: Vec<&Point> = self.points.iter().filter(counted).collect();
        let places = listed(points.iter().map(|point| point.label.as_str()));
        let by = look.cleared_by.map_or("nobody named", Role::words);
        let evidence = look.evidence.as_deref().unwrap_or("no evidence given");
        let open = points.iter().filter(|point| point.standing.answer != Answer::No).count();
        let effect = match (look.answer, points.len(), open) {
            (_, 0, _) => "it touches nothing that is asked of this house",
            (Answer::No, _, 0) => "cleared",
            (Answer::No, all, open) if open < all => "cleared in part: see above",
            (Answer::No, ..) => "not enough to clear it: see above",
            (Answer::Yes | Answer::Unknown, _, 0) => "cleared since",
            (Answer::Yes, ..) => "it is there",
            (Answer::Unknown, ..) => "could not be told",
        };
        let places = if places.is_empty() { String::new() } else { format!("{places}: ") };
        format!("{places}{effect}; {by}, {}; {evidence}", look.date)
    }

    /// Every point of every surface.
    fn in_full(&self) -> Vec<Block> {
        let mut blocks: Vec<Block> = Vec::new();
        let mut last: Option<Option<usize>> = None;
        for point in &self.points {
            if last != Some(point.standing.surface) {
                last = Some(point.standing.surface);
                blocks.push(Block::new(Tone::Plain, format!("Walk: {}", point.label)));
            }
            if let Some(block) = blocks.last_mut() {
                block.line(point.question().def().asks, self.answered(point));
            }
        }
        blocks
    }

    /// What is not in the way, in short.
    fn answered_no(&self) -> Vec<Block> {
        let no = groups(self.points.iter().filter(|point| point.weight.is_none()));
        let mut block = Block::new(Tone::Plain, "Answered: not in the way");
        for group in &no {
            let taken = group.points.iter().any(|point| point.standing.taken);
            let note = if taken {
                " (nobody was asked; taken so where only walls are filled)"
            } else {
                ""
            };
            block.line(opening(group.question.def().topic), format!("{}{note}", group.places()));
        }
        if block.lines.is_empty() { Vec::new() } else { vec![block] }
    }
}

impl Walk {
    /// How a point stands, in a few words.
    fn answered(&self, point: &Point) -> String {
        let standing = &point.standing;
        let word = match (standing.question, standing.answer) {
            (Question::Spillage, Answer::No) => "YES, or there is none",
            (Question::Spillage, Answer::Yes) => "NO",
            (_, Answer::Yes) => "YES",
            (_, Answer::No) => "no",
            (_, Answer::Unknown) => "UNKNOWN",
        };
        let seen = standing
            .looks
            .iter()
            .filter_map(|index| self.looks.get(*index))
            .any(|look| look.answer == standing.answer);
        let basis = match (seen, standing.taken, standing.answer) {
            (true, ..) => ", by a look on record",
            (false, true, _) => ", taken so where only walls are filled; nobody was asked",
            (false, false, Answer::No) => ", by the house file alone",
            (false, false, Answer::Yes | Answer::Unknown) if !standing.looks.is_empty() => {
                "; the looks on record do not clear it"
            }
            (false, false, Answer::Yes | Answer::Unknown) => "",
        };
        format!("{word}{basis}")
    }
}

fn hold(group: &Group<'_>, reader: Reader) -> String {
    let def = group.question.def();
    let places = group.places();
    let reason = def.reason(group.answer);
    let by = def.cleared_by(group.answer);
    match reader {
        Reader::Owner => {
            format!("{reason}. The work must not start ({places}) until it is cleared by {by}.")
        }
        Reader::Salesperson => format!(
            "{reason}. The work must not start ({places}), and no day for it may be promised, until \
             it is cleared by {by}. The figures stand, but clearing it is not in the price."
        ),
        Reader::Contractor => {
            let reach = if def.reach == Reach::Crosses && group.points.len() > 1 {
                " A yes in one place holds every surface it may cross, until that surface is cleared \
                 by itself."
            } else {
                ""
            };
            format!(
                "{reason}. The work must not start: {places}.{reach} Cleared by {by}.{} Record the \
                 role, the day and the evidence.{}",
                still(group),
                source(group)
            )
        }
    }
}

fn check(group: &Group<'_>, reader: Reader) -> String {
    let def = group.question.def();
    let places = group.places();
    let reason = def.reason(group.answer);
    let by = def.cleared_by(group.answer);
    match reader {
        Reader::Owner | Reader::Salesperson => {
            format!("{} To look: {by} ({places}).", sentence(reason))
        }
        Reader::Contractor => {
            format!(
                "{} To look: {by} ({places}).{}{}",
                sentence(reason),
                still(group),
                source(group)
            )
        }
    }
}

/// Who is still needed, where some have cleared it already.
fn still(group: &Group<'_>) -> String {
    // Surfaces that need the same stand together.
    let mut parts: Vec<(String, Vec<&str>)> = Vec::new();
    for point in &group.points {
        let standing = &point.standing;
        let all = standing.question.def().requirement(standing.answer).groups.len();
        if standing.needed.is_empty() || standing.needed.len() == all {
            continue;
        }
        let roles: Vec<String> = standing
            .needed
            .iter()
            .map(|group| group.iter().map(|role| role.words()).collect::<Vec<_>>().join(" or "))
            .collect();
        let roles = roles.join(", then ");
        match parts.iter_mut().find(|(known, _)| *known == roles) {
            Some((_, places)) => places.push(&point.label),
            None => parts.push((roles, vec![&point.label])),
        }
    }
    if parts.is_empty() {
        return String::new();
    }
    let parts: Vec<String> = parts
        .into_iter()
        .map(|(roles, places)| format!("{roles} ({})", listed(places.into_iter())))
        .collect();
    format!(" Still needed: {}.", parts.join("; "))
}

fn source(group: &Group<'_>) -> String {
    let citation = group.question.def().citation(group.answer);
    citation.map_or(String::new(), |citation| {
        let text = citation.to_string();
        if text.ends_with(']') { format!(" {text}") } else { format!(" [{text}]") }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::House;
    use crate::walk::walk;

    const HELD: &str = r#"
house_id = "invented"
wall_area_ft2 = 1000
series_r = 3
heating_degree_days_f = 5000
heating_efficiency = 0.8
fuel = "natural_gas"
fuel_price = 1.5
installed_cost = 2500
knob_and_tube = "yes"
vermiculite = "yes"
moisture_problem = "yes"
loose_interior_finish = "yes"
spillage_test = "failed"
"#;

    fn text(blocks: &[Block]) -> String {
        blocks
            .iter()
            .flat_map(|block| {
                std::iter::once(block.title.clone())
                    .chain(block.lines.iter().map(|(label, text)| format!("{label}: {text}")))
            })
            .collect::<Vec<_>>()
            .join("\n")
    }

    /// They differ in length, never in substance.
    #[test]
    fn every_wording_names_the_hold_that_work_must_not_start_and_who_may_clear_it() {
        let house = House::from_toml(HELD).unwrap_or_else(|error| unreachable!("{error}"));
        let walk = walk(&house);
        let held = groups(walk.of_weight(Weight::Hold));
        assert_eq!(held.len(), 5);
        let mut lengths = Vec::new();
        for reader in Reader::ALL {
            let account = walk.account(reader);
            let Some(first) = account.first() else { unreachable!("an account is never empty") };
            assert_eq!(first.tone, Tone::Hold, "{reader:?}");
            for group in &held {
                let def = group.question.def();
                let line = first
                    .lines
                    .iter()
                    .find(|(label, _)| label.eq_ignore_ascii_case(def.topic))
                    .map(|(_, text)| text.as_str());
                let line = line.unwrap_or_else(|| unreachable!("{reader:?} omits {}", def.topic));
                assert!(line.contains("The work must not start"), "{reader:?}: {line}");
                assert!(line.contains(def.cleared_by(Answer::Yes)), "{reader:?}: {line}");
                assert!(line.contains(def.reason(Answer::Yes)), "{reader:?}: {line}");
                assert!(line.contains("the house") || line.contains("wall"), "{reader:?}: {line}");
            }
            lengths.push(text(&account).len());
        }
        assert!(lengths[0] > lengths[1] && lengths[1] > lengths[2], "{lengths:?}");
    }

    #[test]
    fn an_unknown_is_in_every_wording() {
        let open = HELD.replace("\"yes\"", "\"unknown\"").replace("failed", "not_done");
        let house = House::from_toml(&open).unwrap_or_else(|error| unreachable!("{error}"));
        let walk = walk(&house);
        let checks = groups(walk.of_weight(Weight::Check));
        assert!(checks.len() >= 5);
        for reader in Reader::ALL {
            let account = text(&walk.account(reader));
            for group in &checks {
                let def = group.question.def();
                assert!(account.contains(def.reason(group.answer)), "{reader:?} {}", def.code);
                assert!(account.contains(def.cleared_by(group.answer)), "{reader:?} {}", def.code);
            }
        }
    }
}
