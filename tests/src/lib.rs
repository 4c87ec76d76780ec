//! The whole path, across crates and processes, against outside references.
