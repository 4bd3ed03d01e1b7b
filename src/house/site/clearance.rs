//! A look that somebody took at a point of the walk, kept in the house file.
//!
//! It says what was found, where, by whom (a role), when, and on what evidence. Only one with all of
//! these can clear anything; a yes needs less, since nothing must stand in the way of a warning.

use super::form::Form;
use super::question::{QUESTIONS, Question, Reach};
use super::role::Role;
use crate::error::{Issue, IssueCode, nearest};
use crate::house::{House, Raw};
use crate::readiness::Answer;
use chrono::NaiveDate;

/// Looks that one house file may hold.
pub(crate) const MOST_CLEARANCES: usize = 1000;
/// Characters of evidence.
const MOST_EVIDENCE: usize = 2000;
/// The word for every surface.
pub(crate) const ALL: &str = "all";

/// What a look is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// Every surface, or the house as a whole.
    All,
    /// One surface, by its place in the list.
    Surface(usize),
}

/// A look: what was found, where, by whom, when, on what evidence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clearance {
    /// What was asked.
    pub question: Question,
    /// Where.
    pub place: Place,
    /// What was found: no clears, yes holds, unknown leaves it open.
    pub answer: Answer,
    /// Who looked; always there where the answer is no.
    pub cleared_by: Option<Role>,
    /// The day of the look.
    pub date: NaiveDate,
    /// What it rests on; always there where the answer is no.
    pub evidence: Option<String>,
}

/// A look whose surface is still a name.
#[derive(Clone, Debug)]
pub(crate) struct Draft {
    question: Question,
    surface: Option<String>,
    answer: Answer,
    cleared_by: Option<Role>,
    date: NaiveDate,
    evidence: Option<String>,
}

impl Draft {
    /// Reads one entry of `[[clearances]]`.
    pub(crate) fn read(raw: &Raw) -> Result<Self, Vec<Issue>> {
        let mut form = Form::new(raw);
        let question = question(&mut form);
        let surface = form.text("surface", 200);
        let answer = answer(&mut form, question);
        let cleared_by = role(&mut form, question, answer);
        let date = form.day("date");
        if date.is_none() && !form.issues.iter().any(|issue| issue.field == "date") {
            form.fault(IssueCode::Missing, "date", "", "must be given: the day of the look");
        }
        let evidence = form.text("evidence", MOST_EVIDENCE);
        if answer == Some(Answer::No)
            && evidence.is_none()
            && !form.issues.iter().any(|issue| issue.field == "evidence")
        {
            let reason =
                "must be given: what was seen, tested or signed, so that another can check";
            form.fault(IssueCode::Missing, "evidence", "", reason);
        }
        let (issues, _) = form.finish(false);
        match (question, answer, date) {
            (Some(question), Some(answer), Some(date)) if issues.is_empty() => {
                Ok(Self { question, surface, answer, cleared_by, date, evidence })
            }
            _ => Err(issues),
        }
    }

    /// The look with its surface found among those of the house.
    pub(crate) fn resolve(
        self,
        house: &House,
        surveyed: Option<NaiveDate>,
    ) -> Result<Clearance, Vec<Issue>> {
        let mut issues = Vec::new();
        if let Some(survey) = surveyed.filter(|survey| self.date < *survey) {
            let reason = format!("is before the survey of {survey}: nothing had been found yet");
            issues.push(Issue::new(IssueCode::Conflict, "date", self.date.to_string(), reason));
        }
        let place = match place(house, self.question, self.surface.as_deref()) {
            Ok(place) => place,
            Err(issue) => {
                issues.push(issue);
                Place::All
            }
        };
        if !issues.is_empty() {
            return Err(issues);
        }
        let Self { question, answer, cleared_by, date, evidence, .. } = self;
        Ok(Clearance { question, place, answer, cleared_by, date, evidence })
    }
}

fn question(form: &mut Form<'_>) -> Option<Question> {
    let code = form.text("finding", 100);
    let Some(code) = code else {
        if !form.issues.iter().any(|issue| issue.field == "finding") {
            let reason = format!("must be given: one of {}", codes());
            form.fault(IssueCode::Missing, "finding", "", reason);
        }
        return None;
    };
    let question = Question::from_code(&code);
    if question.is_none() {
        let hint = nearest(&code, QUESTIONS.iter().map(|def| def.code));
        let hint = hint.map(|near| format!("; is {near} meant?")).unwrap_or_default();
        let reason = format!("must be one of {}{hint}", codes());
        form.fault(IssueCode::NotAChoice, "finding", code, reason);
    }
    question
}

fn codes() -> String {
    QUESTIONS.iter().map(|def| def.code).collect::<Vec<_>>().join(", ")
}

fn answer(form: &mut Form<'_>, question: Option<Question>) -> Option<Answer> {
    const WORDS: &[&str] = &["no", "yes", "unknown"];
    const TESTED: &[&str] = &["passed", "failed", "not_done", "no", "yes", "unknown"];
    let words = if question == Some(Question::Spillage) { TESTED } else { WORDS };
    if !form.has("answer") {
        let reason = "must be given: no where it is cleared, yes where it is there, or unknown";
        form.fault(IssueCode::Missing, "answer", "", reason);
    }
    let place = form.word("answer", words)?;
    Some([Answer::No, Answer::Yes, Answer::Unknown][place % 3])
}

/// Who looked. Where the look clears something, it must be somebody who may.
fn role(form: &mut Form<'_>, question: Option<Question>, answer: Option<Answer>) -> Option<Role> {
    let allowed = question.map(|question| question.def().roles()).unwrap_or_default();
    let listed = || allowed.iter().map(|role| role.key()).collect::<Vec<_>>().join(", ");
    let before = form.issues.len();
    let given = form.word("cleared_by", Role::KEYS);
    if let Some(issue) = form.issues.get_mut(before)
        && issue.field == "cleared_by"
    {
        let roles = if allowed.is_empty() { Role::KEYS.join(", ") } else { listed() };
        issue.reason = format!("must be a role, not a name: {roles}");
        return None;
    }
    let role = given.and_then(|place| Role::ALL.get(place).copied());
    if answer == Some(Answer::No) && !allowed.is_empty() {
        match role {
            None => {
                let reason = format!("must be given: a role, not a name: {}", listed());
                form.fault(IssueCode::Missing, "cleared_by", "", reason);
            }
            Some(role) if !allowed.contains(&role) => {
                let reason = format!("may not clear this; who may: {}", listed());
                form.fault(IssueCode::Refused, "cleared_by", role.key(), reason);
            }
            Some(_) => {}
        }
    }
    role
}

/// The surface of a name. A house of one surface, and a question to the whole house, need none.
fn place(house: &House, question: Question, name: Option<&str>) -> Result<Place, Issue> {
    let surfaces = house.surfaces();
    let fault = |code, value: &str, reason: String| Issue::new(code, "surface", value, reason);
    let known = || {
        let names = (0..surfaces.len()).map(|index| house.surface_label(index));
        std::iter::once(ALL.to_owned()).chain(names).collect::<Vec<_>>().join(", ")
    };
    let whole = question.def().reach == Reach::House;
    let Some(name) = name else {
        if surfaces.len() == 1 || whole {
            return Ok(Place::All);
        }
        let reason =
            format!("must be given: the surface that was looked at, or {ALL}: {}", known());
        return Err(fault(IssueCode::Missing, "", reason));
    };
    if name.eq_ignore_ascii_case(ALL) {
        return Ok(Place::All);
    }
    if whole {
        let reason = format!("this is about the whole house: write {ALL}, or leave it out");
        return Err(fault(IssueCode::Misplaced, name, reason));
    }
    let same = |index: &usize| house.surface_label(*index).eq_ignore_ascii_case(name);
    let mut found = (0..surfaces.len()).filter(same);
    match (found.next(), found.next()) {
        (Some(index), None) => Ok(Place::Surface(index)),
        (Some(_), Some(_)) => {
            let reason = "more than one surface has this name: give each its own".to_owned();
            Err(fault(IssueCode::Conflict, name, reason))
        }
        (None, _) => Err(fault(
            IssueCode::NotAChoice,
            name,
            format!("no surface of the house has this name; known are {}", known()),
        )),
    }
}

impl House {
    /// What a surface is called: its own name, or its kind and, where there are several, its place
    /// in the list.
    pub fn surface_label(&self, index: usize) -> String {
        let surfaces = self.surfaces();
        let Some(surface) = surfaces.get(index) else {
            return String::new();
        };
        match surface.name() {
            Some(name) => name.to_owned(),
            None => {
                let kind = surface.kind().as_str().replace('_', " ");
                if surfaces.len() == 1 { kind } else { format!("{kind} {}", index + 1) }
            }
        }
    }
}
