//! What a page calls: text in and text out, by way of one shared buffer.
//!
//! The page asks for room, writes UTF-8 into it, and calls. The answer lies where `answer` says, as long as the call returned. No other
//! memory is shared, nothing is freed by hand.

use std::sync::{Mutex, MutexGuard, PoisonError};
use studbay::page::live::{self, Live};

/// The buffer for text that comes in, the answer to the last call, and the house of the page.
struct Desk {
    input: Vec<u8>,
    answer: String,
    house: Option<Live>,
}

static DESK: Mutex<Desk> =
    Mutex::new(Desk { input: Vec::new(), answer: String::new(), house: None });

fn desk() -> MutexGuard<'static, Desk> {
    DESK.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Room for so many bytes of text; the page writes there.
#[unsafe(no_mangle)]
pub extern "C" fn room(bytes: usize) -> *mut u8 {
    let mut desk = desk();
    desk.input.clear();
    desk.input.resize(bytes, 0);
    desk.input.as_mut_ptr()
}

/// Where the answer to the last call begins.
#[unsafe(no_mangle)]
pub extern "C" fn answer() -> *const u8 {
    desk().answer.as_ptr()
}

/// Answers what was written, and says how long the answer is.
fn reply(make: impl FnOnce(&mut Option<Live>, &str) -> String) -> usize {
    let mut desk = desk();
    let input = std::mem::take(&mut desk.input);
    desk.answer = match std::str::from_utf8(&input) {
        Ok(text) => make(&mut desk.house, text),
        Err(_) => r#"{"error": "not UTF-8"}"#.to_owned(),
    };
    desk.answer.len()
}

/// Begins with the house of a page; the answer is empty, or what is wrong.
#[unsafe(no_mangle)]
pub extern "C" fn begin() -> usize {
    reply(|house, text| match Live::from_page(text) {
        Ok(live) => {
            *house = Some(live);
            String::new()
        }
        Err(error) => error.to_string(),
    })
}

/// What the page shows with its sliders at the stops that were written, a JSON list.
#[unsafe(no_mangle)]
pub extern "C" fn show() -> usize {
    reply(|house, text| match house {
        Some(live) => live.show(text),
        None => r#"{"error": "no house yet"}"#.to_owned(),
    })
}

/// The figures of a JSON house file, with all their digits.
#[unsafe(no_mangle)]
pub extern "C" fn figures() -> usize {
    reply(|_, text| live::figures(text))
}
