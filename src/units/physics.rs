//! Small published formulas that the rooms above share: compression heating, copper,
//! batteries in the cold, preheat power, cranking speed. Must not know parts or jobs.

/// 0 °C in kelvin.
const KELVIN_AT_ZERO_CELSIUS: f64 = 273.15;

/// Temperature at the end of compression, in °C: `T₂ = T₁ · r^(n − 1)` in kelvin.
///
/// `start` is the air temperature at the start of compression in °C, `ratio` the compression
/// ratio, `exponent` the polytropic exponent (1.4 without loss of heat; 1.2 to 1.3 while
/// cranking cold is common practice, no source). Source: polytropic change of an ideal gas, as
/// in Cengel & Boles, *Thermodynamics*, air-standard Diesel cycle.
pub fn compression_end_temperature(start: f64, ratio: f64, exponent: f64) -> f64 {
    (start + KELVIN_AT_ZERO_CELSIUS) * ratio.powf(exponent - 1.0) - KELVIN_AT_ZERO_CELSIUS
}

/// Absolute pressure at the end of compression: `p₂ = p₁ · r^n`, in the unit of `start`.
///
/// Source: as [`compression_end_temperature`].
pub fn compression_end_pressure(start: f64, ratio: f64, exponent: f64) -> f64 {
    start * ratio.powf(exponent)
}

/// Temperature coefficient of annealed copper at 20 °C, per kelvin. Source: IEC 60028.
pub const COPPER_COEFFICIENT: f64 = 0.003_93;
/// Resistivity of annealed copper at 20 °C, Ω·mm²/m. Source: IEC 60028 (1/58).
pub const COPPER_RESISTIVITY: f64 = 1.0 / 58.0;

/// Resistance of copper at `celsius` over that at 20 °C: `1 + α (T − 20)`.
///
/// Source: IEC 60028.
pub fn copper_resistance_ratio(celsius: f64) -> f64 {
    1.0 + COPPER_COEFFICIENT * (celsius - 20.0)
}

/// Resistance in Ω of a copper lead of `length` metres (there and back) and `area` mm².
///
/// Source: IEC 60028. A stranded cable has a few percent more than this.
pub fn copper_resistance(length: f64, area: f64, celsius: f64) -> f64 {
    COPPER_RESISTIVITY * length / area * copper_resistance_ratio(celsius)
}

/// Least volts after 15 s at half the cold-cranking current, by °C, warmest first.
///
/// Source: several vehicle-service pages agree (70, 60 … 0 °F: 9.6, 9.5, 9.4, 9.3, 9.1, 8.9,
/// 8.7, 8.5 V); it is common practice, not a standard, and one page has 8.0 V at −18 °C.
const BATTERY_MINIMUM: [(f64, f64); 8] = [
    (190.0 / 9.0, 9.6),
    (140.0 / 9.0, 9.5),
    (10.0, 9.4),
    (40.0 / 9.0, 9.3),
    (-10.0 / 9.0, 9.1),
    (-20.0 / 3.0, 8.9),
    (-110.0 / 9.0, 8.7),
    (-160.0 / 9.0, 8.5),
];

/// Least volts of a sound 12 V battery after 15 s at half its cold-cranking current.
///
/// Straight lines between the published points; the end values hold beyond them.
pub fn battery_minimum_volts(celsius: f64) -> f64 {
    between(&BATTERY_MINIMUM, celsius)
}

/// Share of a battery's power left, by °C. Source: US Army TM 5-4210-230, table 3.
const POWER_LEFT: [(f64, f64); 4] = [
    (80.0 / 3.0, 1.00),
    (0.0, 0.65),
    (-160.0 / 9.0, 0.40),
    (-260.0 / 9.0, 0.20),
];
/// Power needed to crank, relative to that at 27 °C. Source: a vehicle-service page; no figure
/// below −18 °C is given there.
const POWER_NEEDED: [(f64, f64); 3] = [(80.0 / 3.0, 1.00), (0.0, 1.55), (-160.0 / 9.0, 2.10)];

/// Share (0 to 1) of its power at 27 °C that a charged battery still has. End values hold.
pub fn battery_power_left(celsius: f64) -> f64 {
    between(&POWER_LEFT, celsius)
}

/// Power needed to crank over that needed at 27 °C. End values hold.
pub fn cranking_power_needed(celsius: f64) -> f64 {
    between(&POWER_NEEDED, celsius)
}

/// Heat of a resistor at `volts` over that at `reference` volts: `(V / V₀)²`.
///
/// Source: Joule heating at constant resistance. The time to glow goes nearly with its inverse.
pub fn preheat_power_ratio(volts: f64, reference: f64) -> f64 {
    (volts / reference).powi(2)
}

/// Current in A through `ohms` at `volts`. Source: Ohm's law.
pub fn current(volts: f64, ohms: f64) -> f64 {
    volts / ohms
}

/// Power in W of `ohms` at `volts`: `V² / R`. Source: Joule's and Ohm's laws.
pub fn power(volts: f64, ohms: f64) -> f64 {
    volts * volts / ohms
}

/// Cranking speed in turns a minute from compression strokes heard on a four-stroke engine:
/// `120 · pulses / (cylinders · seconds)`.
///
/// Source: each cylinder compresses once in two turns. `None` without cylinders or time.
pub fn rpm_from_pulses(pulses: u32, cylinders: u32, seconds: f64) -> Option<f64> {
    (cylinders > 0 && seconds > 0.0)
        .then(|| 120.0 * f64::from(pulses) / (f64::from(cylinders) * seconds))
}

/// Straight-line interpolation in a table of falling first column; the ends hold.
fn between(table: &[(f64, f64)], x: f64) -> f64 {
    let mut above = table[0];
    if x >= above.0 {
        return above.1;
    }
    for &(at, value) in &table[1..] {
        if x >= at {
            let share = (x - at) / (above.0 - at);
            return value + share * (above.1 - value);
        }
        above = (at, value);
    }
    above.1
}
