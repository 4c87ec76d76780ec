//! Drawings as plain shapes with a text alternative, charts onto them, and SVG. Pure.
