//! Estimates of one site's season: densities, areas under the curve, shares. Pure.
