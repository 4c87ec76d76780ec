-- The list of a site's visits is read in order of their start.
CREATE INDEX visit_of_site ON visit (site, started_ms);
