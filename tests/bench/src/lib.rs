//! Ratios against a floor measured in the same run, and many phones at once.
