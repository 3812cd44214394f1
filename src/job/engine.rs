//! The engine by its shape: what it has, never who made it.
//!
//! Every field may be unknown. Must not hold figures of the trade.

use super::kept::Extra;
use super::names::named;
use crate::knowledge::Needs;
use crate::units::Quantity;

/// Most cylinders a job may have (own judgement: larger engines start by air).
pub const MOST_CYLINDERS: u8 = 12;

named! {
    /// Where the fuel burns.
    Chamber {
        /// Direct injection.
        Direct = "direct",
        /// Swirl chamber.
        Swirl = "swirl",
        /// Pre-chamber.
        Prechamber = "prechamber",
        /// Not known.
        Unknown = "unknown",
    }
}

named! {
    /// What heats the air or the chambers before the start.
    PreheatKind {
        /// A plug in each cylinder.
        Plugs = "plugs",
        /// An electric grid in the intake.
        IntakeGrid = "intake_grid",
        /// A flame in the intake.
        Flame = "flame",
        /// Nothing.
        None = "none",
        /// Not known.
        Unknown = "unknown",
    }
}

named! {
    /// How the plugs are fed.
    Wiring {
        /// One strip over all plugs.
        Strip = "strip",
        /// A wire to each plug.
        SingleWires = "single_wires",
        /// Full volts, then fewer through a resistor.
        TwoStage = "two_stage",
        /// Switched on and off by a timer while the engine warms.
        Cycling = "cycling",
        /// All plugs in a row, each with a share of the volts.
        Series = "series",
        /// Held by hand.
        PushButton = "push_button",
        /// Low-volt plugs, pulsed.
        LowVoltPulsed = "low_volt_pulsed",
        /// Not known.
        Unknown = "unknown",
    }
}

named! {
    /// Kind of injection pump.
    PumpKind {
        /// Rotary (distributor) pump.
        Rotary = "rotary",
        /// In-line pump.
        Inline = "inline",
        /// Not known.
        Unknown = "unknown",
    }
}

named! {
    /// Which end of the engine cylinder one is at.
    CylinderOne {
        /// At the pulleys.
        PulleyEnd = "pulley_end",
        /// At the flywheel.
        FlywheelEnd = "flywheel_end",
        /// Not known.
        Unknown = "unknown",
    }
}

/// The engine, by its shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Engine {
    /// Number of cylinders, 1 to [`MOST_CYLINDERS`].
    pub cylinders: Option<u8>,
    /// Combustion chamber.
    pub chamber: Chamber,
    /// Kind of preheat.
    pub preheat: PreheatKind,
    /// How the plugs are fed (key `preheat_wiring`).
    pub preheat_wiring: Wiring,
    /// Kind of pump.
    pub pump: PumpKind,
    /// Volts of the electrical system, V (6, 12, 24 or another number).
    pub system_volts: Option<f64>,
    /// Which end cylinder one is at.
    pub cylinder_one: CylinderOne,
    /// Distance run, a length.
    pub distance: Option<Quantity>,
    /// Hours run, a time.
    pub hours: Option<Quantity>,
    /// Year it was built.
    pub built: Option<u16>,
    /// What it is in or drives, in the person's words (key `use`).
    pub used_in: Option<String>,
    /// Volts stamped on the plugs, V.
    pub plug_rated_volts: Option<f64>,
    /// Rated resistance of one plug, ohm.
    pub plug_rated_ohms: Option<f64>,
    /// Rated current of one plug, A.
    pub plug_rated_amps: Option<f64>,
    /// Unknown keys.
    pub extra: Extra,
}

impl Default for Engine {
    /// An engine of which nothing is known.
    fn default() -> Self {
        Self {
            cylinders: None,
            chamber: Chamber::Unknown,
            preheat: PreheatKind::Unknown,
            preheat_wiring: Wiring::Unknown,
            pump: PumpKind::Unknown,
            system_volts: None,
            cylinder_one: CylinderOne::Unknown,
            distance: None,
            hours: None,
            built: None,
            used_in: None,
            plug_rated_volts: None,
            plug_rated_ohms: None,
            plug_rated_amps: None,
            extra: Extra::new(),
        }
    }
}

impl Engine {
    /// Whether something with these needs can exist on this engine. An unknown field rules
    /// nothing out.
    #[must_use]
    pub fn may_have(&self, needs: &Needs) -> bool {
        let fits = |list: &[String], id: &str| {
            list.is_empty() || id == "unknown" || list.iter().any(|x| x == id)
        };
        fits(&needs.preheat, self.preheat.id())
            && fits(&needs.wiring, self.preheat_wiring.id())
            && fits(&needs.pump, self.pump.id())
            && fits(&needs.chamber, self.chamber.id())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_unknown_field_rules_nothing_out() {
        let needs = Needs {
            preheat: vec!["plugs".to_owned()],
            ..Needs::default()
        };
        let mut engine = Engine::default();
        assert!(engine.may_have(&needs));
        engine.preheat = PreheatKind::Plugs;
        assert!(engine.may_have(&needs));
        engine.preheat = PreheatKind::Flame;
        assert!(!engine.may_have(&needs));
        assert!(engine.may_have(&Needs::default()));
    }
}
