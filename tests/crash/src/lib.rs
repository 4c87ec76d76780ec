//! A file layer under SQLite that records what a power cut could leave, and every such image reopened.
