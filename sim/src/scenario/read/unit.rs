//! Units of the human file and how each becomes SI.

/// A unit that a key of the file may end in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As printed for people.
    pub symbol: &'static str,
    /// Ending of the key, without its underscore; empty for pure numbers.
    pub suffix: &'static str,
    /// SI value of one unit.
    pub scale: f64,
    /// SI value of zero units (°C).
    pub offset: f64,
    /// Units of one dimension convert into each other.
    pub dimension: &'static str,
}

impl Unit {
    const fn new(dimension: &'static str, symbol: &'static str, suffix: &'static str, scale: f64) -> Self {
        Self { symbol, suffix, scale, offset: 0.0, dimension }
    }

    /// SI value of `value` of this unit.
    pub fn to_si(self, value: f64) -> f64 {
        value * self.scale + self.offset
    }

    /// Value in this unit of an SI value.
    pub fn from_si(self, si: f64) -> f64 {
        (si - self.offset) / self.scale
    }
}

macro_rules! units {
    ($( $(#[$doc:meta])* $name:ident = $dimension:literal, $symbol:literal, $suffix:literal, $scale:expr; )*) => {
        $( $(#[$doc])* pub const $name: Unit = Unit::new($dimension, $symbol, $suffix, $scale); )*
        /// Every unit of the table, for telling a mistaken ending from a mistaken key.
        pub const UNITS: &[Unit] = &[$($name),*, CELSIUS];
    };
}

const DEG: f64 = core::f64::consts::PI / 180.0;
/// Mass of a standard cubic centimetre of nitrogen, kg: 0 °C and 101,325 Pa, molar volume 22,413.97 cm³/mol
/// (CODATA ideal-gas value), molar mass 28.01348 g/mol.
const STANDARD_CC_KG: f64 = 28.013_48e-3 / 22_413.97;

units! {
    /// Pure number.
    NONE = "number", "", "", 1.0;
    /// Per cent, to a share.
    PERCENT = "number", "%", "percent", 1e-2;
    /// Parts in a million, to a share.
    PPM = "number", "ppm", "ppm", 1e-6;
    /// Metre.
    METRE = "length", "m", "m", 1.0;
    /// Kilometre.
    KM = "length", "km", "km", 1e3;
    /// Millimetre.
    MM = "length", "mm", "mm", 1e-3;
    /// Micrometre.
    MICROMETRE = "length", "µm", "um", 1e-6;
    /// Square metre.
    SQUARE_METRE = "area", "m²", "m2", 1.0;
    /// So many to a square kilometre, to so many to a square metre.
    PER_KM2 = "number on an area", "/km²", "per_km2", 1e-6;
    /// Litre.
    LITRE = "volume", "L", "l", 1e-3;
    /// Cubic centimetre.
    CUBIC_CM = "volume", "cm³", "cm3", 1e-6;
    /// Cubic millimetre.
    CUBIC_MM = "volume", "mm³", "mm3", 1e-9;
    /// Second.
    SECOND = "time", "s", "s", 1.0;
    /// Millisecond.
    MS = "time", "ms", "ms", 1e-3;
    /// Hour.
    HOUR = "time", "h", "h", 3600.0;
    /// Minute.
    MINUTE = "time", "min", "min", 60.0;
    /// Kilometre per second.
    KM_S = "speed", "km/s", "km_s", 1e3;
    /// Metre per second.
    METRE_S = "speed", "m/s", "m_s", 1.0;
    /// Millimetre per second.
    MM_S = "speed", "mm/s", "mm_s", 1e-3;
    /// Degree.
    DEGREE = "angle", "°", "deg", DEG;
    /// Radian.
    RADIAN = "angle", "rad", "rad", 1.0;
    /// Microradian.
    MICRORADIAN = "angle", "µrad", "urad", 1e-6;
    /// Degree per second.
    DEG_S = "angular rate", "°/s", "deg_s", DEG;
    /// Radian per second.
    RAD_S = "angular rate", "rad/s", "rad_s", 1.0;
    /// Revolution per minute.
    RPM = "angular rate", "rpm", "rpm", core::f64::consts::TAU / 60.0;
    /// Degree per hour.
    DEG_H = "angular rate", "°/h", "deg_h", DEG / 3600.0;
    /// Degree per root hour, to rad/√s.
    DEG_RT_H = "angular random walk", "°/√h", "deg_rt_h", DEG / 60.0;
    /// Degree per hour per root hour, to rad/s/√s.
    DEG_H_RT_H = "rate random walk", "°/h/√h", "deg_h_rt_h", DEG / 3600.0 / 60.0;
    /// Hertz.
    HERTZ = "frequency", "Hz", "hz", 1.0;
    /// Kilogram.
    KG = "mass", "kg", "kg", 1.0;
    /// Gram.
    GRAM = "mass", "g", "g", 1e-3;
    /// Gram per hour, to kg/s.
    GRAM_H = "mass flow", "g/h", "g_h", 1e-3 / 3600.0;
    /// Standard cubic centimetres of nitrogen (0 °C, 1 atm) in an hour, to kg/s.
    SCC_H = "mass flow", "scc/h", "scc_per_hour", STANDARD_CC_KG / 3600.0;
    /// Kilogram per cubic metre.
    KG_M3 = "density", "kg/m³", "kg_m3", 1.0;
    /// Kilogram per square metre of surface.
    KG_PER_M2 = "surface density", "kg/m²", "kg_per_m2", 1.0;
    /// Kilogram per metre of width.
    KG_PER_M = "line density", "kg/m", "kg_per_m", 1.0;
    /// Moment of inertia.
    KG_M2 = "inertia", "kg·m²", "kg_m2", 1.0;
    /// Newton.
    NEWTON = "force", "N", "n", 1.0;
    /// Newton second.
    NEWTON_SECOND = "impulse", "N·s", "n_s", 1.0;
    /// Newton metre.
    NEWTON_METRE = "torque", "N·m", "n_m", 1.0;
    /// Newton per metre.
    NEWTON_PER_METRE = "stiffness", "N/m", "n_per_m", 1.0;
    /// Newton metre for each ampere.
    NEWTON_METRE_A = "motor constant", "N·m/A", "n_m_a", 1.0;
    /// Ampere square metre.
    AMPERE_M2 = "magnetic moment", "A·m²", "a_m2", 1.0;
    /// Megapascal.
    MPA = "pressure", "MPa", "mpa", 1e6;
    /// Kilopascal.
    KPA = "pressure", "kPa", "kpa", 1e3;
    /// Bar.
    BAR = "pressure", "bar", "bar", 1e5;
    /// Gigapascal.
    GPA = "pressure", "GPa", "gpa", 1e9;
    /// Ampere.
    AMPERE = "current", "A", "a", 1.0;
    /// Volt.
    VOLT = "voltage", "V", "v", 1.0;
    /// Ohm.
    OHM = "resistance", "Ω", "ohm", 1.0;
    /// Watt.
    WATT = "power", "W", "w", 1.0;
    /// Watt hour, to joules.
    WATT_HOUR = "energy", "Wh", "wh", 3600.0;
    /// Kelvin, as a difference of temperatures.
    KELVIN = "temperature difference", "K", "k", 1.0;
    /// Thermal expansion, parts in a million for each kelvin.
    PPM_K = "thermal expansion", "ppm/K", "ppm_k", 1e-6;
    /// Solar flux unit, 1e-22 W/m²/Hz, counted as such.
    SFU = "solar flux", "sfu", "sfu", 1.0;
    /// Line pairs in a millimetre, to line pairs in a metre.
    LP_MM = "resolution", "lp/mm", "lp_mm", 1e3;
}

/// Degree Celsius, to kelvin.
pub const CELSIUS: Unit = Unit { symbol: "°C", suffix: "c", scale: 1.0, offset: 273.15, dimension: "temperature" };

/// The key without its unit, and the longest unit of the table that it ends in.
pub fn split_key(key: &str) -> (&str, Option<Unit>) {
    let mut best: Option<(&str, Unit)> = None;
    for unit in UNITS.iter().filter(|unit| !unit.suffix.is_empty()) {
        let stem = key.strip_suffix(unit.suffix).and_then(|stem| stem.strip_suffix('_'));
        let longer = best.is_none_or(|(_, found)| unit.suffix.len() > found.suffix.len());
        if let Some(stem) = stem.filter(|stem| longer && !stem.is_empty()) {
            best = Some((stem, *unit));
        }
    }
    best.map_or((key, None), |(stem, unit)| (stem, Some(unit)))
}
