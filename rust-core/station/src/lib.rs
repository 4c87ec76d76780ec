//! The receiving side: stores, HTTP, pages, and the leafturn command.
