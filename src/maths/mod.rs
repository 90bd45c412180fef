//! Plain numerics on slices and seeded random numbers. Knows nothing of coffee.
