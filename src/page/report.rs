//! The report of a house as one page.

use super::live::{Beginning, Live};
use super::section::{legend, skins};
use super::speech::Speech;
use super::view::{MOST_SECTIONS, View, slider_label};
use super::words::{BadWords, Words};
use crate::house::{Field, House, Raw, explain};
use crate::tables::{CAR_CO2_KG_PER_MILE, CONSTANTS};
use crate::units::{Quantity, UnitSystem};
use crate::version::version;
use flate2::Compression;
use flate2::write::GzEncoder;
use minijinja::value::Value;
use minijinja::{AutoEscape, Environment, UndefinedBehavior, context};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt;
use std::io::Write as _;
use std::sync::LazyLock;

/// The core of the page. `make web-core` builds it; a test compares it with the library, to the bit.
static CORE: &[u8] = include_bytes!("core.wasm");

/// The core as a page carries it: packed, in letters.
static PACKED_CORE: LazyLock<String> = LazyLock::new(|| {
    let mut packed = GzEncoder::new(Vec::new(), Compression::best());
    // Writing into memory cannot fail; a page without its core stands still, and whole.
    let whole = packed.write_all(CORE).and_then(|()| packed.finish());
    whole.map_or_else(|_| String::new(), |bytes| base64(&bytes))
});

const SCRIPT: &str = include_str!("template/page.js");
const TEMPLATES: [(&str, &str); 5] = [
    ("page.html", include_str!("template/page.html")),
    ("letterhead.html", include_str!("template/letterhead.html")),
    ("page.css", include_str!("template/page.css")),
    ("portfolio.html", include_str!("template/portfolio.html")),
    ("portfolio.css", include_str!("template/portfolio.css")),
];

/// How a page is made.
#[derive(Clone, Debug)]
pub struct PageOptions {
    /// The unit system of the page.
    pub units: UnitSystem,
    /// The label in front of amounts; it converts nothing.
    pub currency: String,
    /// One of [`super::words::LANGUAGES`].
    pub language: String,
    /// Words that take the place of the language's own.
    pub words: Option<Words>,
    /// Templates that take the place of the crate's own, by name: `page.html`, `letterhead.html`, `page.css`; and for many
    /// houses `portfolio.html` and `portfolio.css`, which follows `page.css`. They are a programme's own
    /// work and are trusted; what they show of a house is escaped.
    pub templates: BTreeMap<String, String>,
    /// The day the page is made, as it is to be written. The crate has no clock.
    pub date: Option<String>,
    /// Whether the page has sliders; without them it has no script and no core, and is small.
    pub live: bool,
}

impl Default for PageOptions {
    fn default() -> Self {
        Self {
            units: UnitSystem::Ip,
            currency: "$".to_owned(),
            language: "en".to_owned(),
            words: None,
            templates: BTreeMap::new(),
            date: None,
            live: true,
        }
    }
}

/// Why there is no page.
#[derive(Debug)]
#[non_exhaustive]
pub enum PageError {
    /// The crate has no words of this language.
    Language(String),
    /// Words that take no text's place.
    Words(BadWords),
    /// A template that the crate does not have, or that cannot be read or filled.
    Template(String),
    /// A label of the currency longer than [`MOST_CURRENCY`] characters.
    Currency(String),
    /// The house cannot be written and read again: a defect of this crate.
    House(String),
}

/// Characters that a label of the currency may have.
pub const MOST_CURRENCY: usize = 12;

impl fmt::Display for PageError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Language(language) => write!(
                f,
                "language = {language}: must be one of {}",
                super::words::LANGUAGES.join(", ")
            ),
            Self::Words(error) => write!(f, "words: {error}"),
            Self::Template(reason) => write!(f, "templates: {reason}"),
            Self::Currency(label) => {
                write!(f, "currency = {label}: at most {MOST_CURRENCY} characters")
            }
            Self::House(reason) => write!(f, "the house cannot be put into a page: {reason}"),
        }
    }
}

impl std::error::Error for PageError {}

impl From<minijinja::Error> for PageError {
    fn from(error: minijinja::Error) -> Self {
        let place = error.name().unwrap_or("?");
        let line = error.line().map(|line| format!(", line {line}")).unwrap_or_default();
        let detail = error.detail().map_or_else(|| error.kind().to_string(), str::to_owned);
        Self::Template(format!("{place}{line}: {detail}"))
    }
}

impl PageOptions {
    /// The words of every page; those about many houses among them.
    fn words(&self) -> Result<Words, PageError> {
        let words = Words::of_all_pages(&self.language)
            .ok_or_else(|| PageError::Language(self.language.clone()))?;
        match &self.words {
            Some(own) => words.replaced(own).map_err(PageError::Words),
            None => Ok(words),
        }
    }

    /// The programme's own template, or the crate's.
    fn template(&self, name: &str) -> String {
        let own = self.templates.get(name).map(String::as_str);
        let crates = || TEMPLATES.iter().find(|t| t.0 == name).map_or("", |t| t.1);
        own.unwrap_or_else(crates).to_owned()
    }
}

/// When the page was made, and by what.
pub(super) fn made(words: &Words, date: Option<&str>) -> String {
    let version = version();
    match date {
        Some(date) => words.fill("made", &[("date", date), ("version", &version)]),
        None => words.fill("made_undated", &[("version", &version)]),
    }
}

/// Makes pages with the same options, one after the other: words and templates are read once.
#[derive(Debug)]
pub struct Printer {
    options: PageOptions,
    words: Words,
    environment: Environment<'static>,
    style: String,
}

impl Printer {
    /// Reads words and templates.
    ///
    /// # Errors
    /// [`PageError`] for options that give no page.
    pub fn new(options: PageOptions) -> Result<Self, PageError> {
        if options.currency.chars().count() > MOST_CURRENCY {
            return Err(PageError::Currency(options.currency));
        }
        let words = options.words()?.of_a_house();
        let mut environment = Environment::new();
        environment.set_auto_escape_callback(|_| AutoEscape::Html);
        environment.set_undefined_behavior(UndefinedBehavior::Lenient);
        environment.set_trim_blocks(true);
        environment.set_lstrip_blocks(true);
        for (name, source) in TEMPLATES {
            environment.add_template(name, source)?;
        }
        for (name, source) in &options.templates {
            if !TEMPLATES.iter().any(|(known, _)| known == name) {
                let known: Vec<&str> = TEMPLATES.iter().map(|(name, _)| *name).collect();
                let reason = format!("{name}: a page has {}", known.join(", "));
                return Err(PageError::Template(reason));
            }
            environment.add_template_owned(name.clone(), source.clone())?;
        }
        let style = options.template("page.css");
        Ok(Self { options, words, environment, style })
    }

    #[cfg(feature = "arrow")]
    pub(super) fn options(&self) -> &PageOptions {
        &self.options
    }

    /// The words of every page.
    #[cfg(feature = "arrow")]
    pub(super) fn all_words(&self) -> Result<Words, PageError> {
        self.options.words()
    }

    #[cfg(feature = "arrow")]
    pub(super) fn style(&self) -> &str {
        &self.style
    }

    #[cfg(feature = "arrow")]
    pub(super) fn portfolio_style(&self) -> String {
        self.options.template("portfolio.css")
    }

    #[cfg(feature = "arrow")]
    pub(super) fn template(&self, name: &str) -> Result<minijinja::Template<'_, '_>, PageError> {
        Ok(self.environment.get_template(name)?)
    }

    /// The page of a house.
    ///
    /// # Errors
    /// [`PageError::Template`] for a template that cannot be filled.
    pub fn page(&self, house: &House) -> Result<String, PageError> {
        self.page_with_options(house, None)
    }

    /// The page of a house whose options are those of a list, as `[[options]]` of a house file has them; the usual ones where
    /// it is empty or none is given.
    ///
    /// # Errors
    /// [`PageError::House`] with every fault of the options; otherwise as [`Self::page`].
    pub fn page_with_options(
        &self,
        house: &House,
        stated: Option<&Raw>,
    ) -> Result<String, PageError> {
        let Self { options, words, .. } = self;
        let live = Live::new(house, stated, words.clone(), options.units, &options.currency)
            .map_err(|error| PageError::House(error.to_string()))?;
        let view = live.view(&[]).map_err(|error| PageError::House(error.to_string()))?;
        let template = self.environment.get_template("page.html")?;
        Ok(template.render(self.context(&live, &view))?)
    }

    fn context(&self, live: &Live, view: &View) -> Value {
        let Self { options, words, style, .. } = self;
        let speech = live.speech();
        let house = live.house();
        let version = version();
        let made = made(words, options.date.as_deref());
        let resistance = Quantity::Resistance.unit(options.units);
        let caption = words.get("cash_caption");
        let (caption_before, caption_after) = caption.split_once("{band}").unwrap_or((caption, ""));
        let fuel = house.plant().fuel.row();
        let fuel_name = words.or(&format!("fuel:{}", fuel.key), fuel.label);
        let (beginning, core) =
            if options.live { (beginning(live), PACKED_CORE.clone()) } else { Default::default() };
        context! {
            w => words.texts(),
            v => view,
            house_id => shown(house.house_id()),
            version,
            made,
            live => options.live,
            policy => policy(style, options.live),
            style,
            script => SCRIPT,
            beginning,
            core,
            sections => sections(speech, house),
            more_sections => more_sections(speech, house),
            legend => legend(speech).into_iter().map(|(drawing, label)| context! { drawing, label }).collect::<Vec<_>>(),
            section_caption => words.fill("section_caption", &[("unit", resistance)]),
            row_fuel => words.fill("row_fuel", &[("fuel", fuel_name)]),
            columns => (0..live.specs().len()).collect::<Vec<_>>(),
            option_rows => super::options::ROWS,
            cash_caption_before => caption_before,
            cash_caption_after => caption_after,
            carbon_source => carbon_source(speech),
            sliders => sliders(live),
            moved_surface => moved_surface(house),
            assumptions => assumptions(speech, house),
        }
    }
}

/// The report of a house as one page that stands alone.
///
/// # Errors
/// [`PageError`] for options that give no page.
///
/// # Examples
/// ```
/// use studbay::house::House;
/// use studbay::page::{PageOptions, report};
///
/// let house = House::from_file("demo-data/house.toml")?;
/// let page = report(&house, PageOptions { live: false, ..PageOptions::default() })?;
/// assert!(page.contains("Pays back in about 6.0 years"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn report(house: &House, options: PageOptions) -> Result<String, PageError> {
    Printer::new(options)?.page(house)
}

use super::markup::shown;

/// What the page begins with, safe inside a script element.
fn beginning(live: &Live) -> String {
    let speech = live.speech();
    let words = serde_json::to_string(speech.words.texts()).unwrap_or_default();
    let beginning = Beginning {
        house: live.house().to_json(),
        options: live.stated().cloned(),
        units: match speech.units {
            UnitSystem::Ip => "ip".to_owned(),
            UnitSystem::Si => "si".to_owned(),
        },
        currency: speech.currency.clone(),
        words,
    };
    // No sign that could end the element, or begin a comment in it.
    serde_json::to_string(&beginning)
        .unwrap_or_default()
        .replace('<', "\\u003c")
        .replace('>', "\\u003e")
        .replace('&', "\\u0026")
        .replace('\u{2028}', "\\u2028")
        .replace('\u{2029}', "\\u2029")
}

/// Nothing is fetched; only this page's own style and script count, by their sums.
pub(super) fn policy(style: &str, live: bool) -> String {
    let sum = |text: &str| format!("'sha256-{}'", base64(&Sha256::digest(text.as_bytes())));
    let script =
        if live { format!("{} 'wasm-unsafe-eval'", sum(SCRIPT)) } else { "'none'".to_owned() };
    format!(
        "default-src 'none'; script-src {script}; style-src {}; base-uri 'none'; form-action 'none'",
        sum(style)
    )
}

fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let sign = |six: u32| SIGNS.get((six & 63) as usize).map_or('=', |sign| char::from(*sign));
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |at: usize| u32::from(three.get(at).copied().unwrap_or(0));
        let all = byte(0) << 16 | byte(1) << 8 | byte(2);
        out.push(sign(all >> 18));
        out.push(sign(all >> 12));
        out.push(if three.len() > 1 { sign(all >> 6) } else { '=' });
        out.push(if three.len() > 2 { sign(all) } else { '=' });
    }
    out
}

fn sections(speech: &Speech, house: &House) -> Vec<Value> {
    let many = house.surfaces().len() > 1;
    let surfaces = house.surfaces().iter().take(MOST_SECTIONS).enumerate();
    surfaces
        .map(|(place, surface)| {
            let (outer, inner) = skins(speech, surface);
            let layers: Vec<String> = outer
                .iter()
                .chain(&inner)
                .map(|skin| match skin.r {
                    Some(r) => {
                        let r = speech.quantity_figure(Quantity::Resistance, r, 2);
                        speech.words.fill("layer_with_r", &[("label", &skin.label), ("r", &r)])
                    }
                    None => skin.label.clone(),
                })
                .map(|layer| shown(&layer))
                .collect();
            let kind = speech.words.get(&format!("kind_{}", surface.kind().as_str())).to_owned();
            let title = match (many, surface.name()) {
                (_, Some(name)) => format!("{} ({kind})", shown(name)),
                (true, None) => format!("{} ({kind})", place + 1),
                (false, None) => String::new(),
            };
            context! {
                title,
                layers,
                now => format!("section_{place}_now"),
                after => format!("section_{place}_after"),
            }
        })
        .collect()
}

fn more_sections(speech: &Speech, house: &House) -> Option<String> {
    let more = house.surfaces().len().checked_sub(MOST_SECTIONS).filter(|more| *more > 0)?;
    Some(speech.words.fill("section_more", &[("count", &more.to_string())]))
}

fn sliders(live: &Live) -> Vec<Value> {
    let speech = live.speech();
    let each = live.sliders().iter().enumerate();
    each.map(|(place, slider)| {
        context! {
            label => slider_label(speech, live.house(), slider.field),
            slot => format!("slider_{place}"),
            last => slider.stops.len().saturating_sub(1),
            start => slider.start,
        }
    })
    .collect()
}

/// The surface that the sliders of the wall move, where there are several.
fn moved_surface(house: &House) -> Option<String> {
    let (place, surface) = super::sliders::moved_surface(house)?;
    (house.surfaces().len() > 1)
        .then(|| surface.name().map_or_else(|| (place + 1).to_string(), shown))
}

fn carbon_source(speech: &Speech) -> String {
    let constant = &CAR_CO2_KG_PER_MILE;
    let kg = speech.figure(constant.value, 2);
    let source = constant.citation.to_string();
    speech.words.fill("carbon_source", &[("kg", &kg), ("source", &source)])
}

/// Every input of the calculation, with where it comes from.
fn assumptions(speech: &Speech, house: &House) -> Vec<Value> {
    let words = &speech.words;
    let many = house.surfaces().len() > 1;
    let choices = [Field::Fuel].map(|field| {
        let row = house.plant().fuel.row();
        context! {
            what => words.or(&format!("field:{}", field.def().ip), field.def().help),
            value => words.or(&format!("fuel:{}", row.key), row.label),
            origin => words.get("origin_given"),
        }
    });
    let steps = explain(house).into_iter().filter(|step| step.origin != "computed");
    let inputs = steps.map(|step| {
        let origin = match step.origin {
            "given" | "given in SI" => "origin_given",
            "default" => "origin_default",
            "table" => "origin_table",
            _ => "origin_constant",
        };
        // In SI a resistivity is told as the conductivity that it is there.
        let name = match Field::from_name(step.symbol) {
            Some((field, _)) => field.def().name(speech.units),
            None => step.symbol,
        };
        let label = words.or(
            &format!("field:{name}"),
            words.or(
                &format!("field:{}", step.symbol),
                words.or(&format!("material:{}", step.symbol), step.what),
            ),
        );
        let surface = step.surface.filter(|_| many).and_then(|at| {
            let surface = house.surfaces().get(at)?;
            Some(surface.name().map_or_else(|| (at + 1).to_string(), shown))
        });
        let source = if origin == "origin_given" { String::new() } else { step.source.clone() };
        context! {
            what => label.trim_end_matches('.'),
            value => step_value(speech, &step),
            origin => words.get(origin),
            surface,
            source,
        }
    });
    choices.into_iter().chain(inputs).collect()
}

fn step_value(speech: &Speech, step: &crate::Step) -> String {
    if let Some((field, _)) = Field::from_name(step.symbol)
        && let Some(value) = step.value
    {
        return speech.field(field.def(), value);
    }
    let (value, unit) = match (speech.units, step.value_si) {
        (UnitSystem::Si, Some(si)) => (Some(si), step.unit_si),
        _ => (step.value, step.unit),
    };
    // The unit of a constant stands in its table.
    let constant = CONSTANTS.iter().find(|constant| constant.key == step.symbol);
    let unit =
        constant.map_or(unit, |constant| if constant.unit == "1" { "" } else { constant.unit });
    let decimals = if value.is_some_and(|value| value.abs() < 1e-3) { 9 } else { 4 };
    let value = value.map_or_else(|| "–".to_owned(), |value| speech.figure(value, decimals));
    format!("{value} {unit}").trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_is_that_of_its_standard() {
        // RFC 4648, section 10, from memory.
        for (text, coded) in
            [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foobar", "Zm9vYmFy")]
        {
            assert_eq!(base64(text.as_bytes()), coded);
        }
    }
}
