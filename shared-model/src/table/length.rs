//! Lengths as people write them: a number, and a unit where it is not the usual one.

/// A unit of length. Conversions are exact: the international yard is 0.9144 m (NIST SP 811).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Length {
    /// Millimetre.
    Mm,
    /// Centimetre.
    Cm,
    /// Metre.
    M,
    /// Inch.
    In,
    /// Foot.
    Ft,
    /// Yard.
    Yd,
}

impl Length {
    /// Returns the unit of that name or symbol.
    pub fn read(text: &str) -> Option<Self> {
        match text.trim().to_lowercase().as_str() {
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Some(Self::Mm),
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Some(Self::Cm),
            "m" | "metre" | "metres" | "meter" | "meters" => Some(Self::M),
            "in" | "inch" | "inches" | "\"" | "″" | "''" => Some(Self::In),
            "ft" | "foot" | "feet" | "'" | "′" => Some(Self::Ft),
            "yd" | "yds" | "yard" | "yards" => Some(Self::Yd),
            _ => None,
        }
    }

    /// Returns its symbol.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::In => "in",
            Self::Ft => "ft",
            Self::Yd => "yd",
        }
    }

    /// Returns a length in this unit as mm.
    pub fn mm(self, value: f64) -> f64 {
        match self {
            Self::Mm => value,
            Self::Cm => value * 10.0,
            Self::M => value * 1000.0,
            Self::In => value * 25.4,
            Self::Ft => value * 304.8,
            Self::Yd => value * 914.4,
        }
    }

    /// Returns a length in this unit as m.
    pub fn metres(self, value: f64) -> f64 {
        match self {
            Self::Mm => value / 1000.0,
            Self::Cm => value / 100.0,
            Self::M => value,
            Self::In => value * 0.0254,
            Self::Ft => value * 0.3048,
            Self::Yd => value * 0.9144,
        }
    }
}
