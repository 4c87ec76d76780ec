//! The sync engine without any input or output, and the wire types it shares with the station. Pure.
