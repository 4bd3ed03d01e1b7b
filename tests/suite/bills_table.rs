//! Bills and weather as tables.
