//! What a cold finger types: shots, distances, units.
