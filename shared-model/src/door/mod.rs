//! The compute door: `compute(method, json) -> json`.
