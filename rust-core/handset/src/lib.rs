//! The phone side: journal, state tables, view records, photos on disk, sync jobs.
