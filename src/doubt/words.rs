//! Doubt in words.
