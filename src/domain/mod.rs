//! Records and their invariants: bag, station, drinker, pull, recipe, trace.
