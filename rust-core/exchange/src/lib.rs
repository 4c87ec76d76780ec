//! Files of other people's formats, in and out: GeoJSON so far. Pure.
