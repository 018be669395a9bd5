//! Target faces: ring geometry and scoring.
