//! What can go wrong with the film. Set and taken back from outside; nothing here watches a clock.

/// Which loop of film.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Side {
    /// Between the supply reel and the metering roller.
    Supply,
    /// Between the metering roller and the take-up reel.
    TakeUp,
}

/// Something holds the film or its roller.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Jam {
    /// The roller resists up to this torque, N·m.
    Roller {
        /// Holding torque, N·m.
        holding_nm: f64,
    },
    /// The film is caught in the gate and does not move; the roller slides under it once its torque
    /// beats the grip.
    Web,
}

/// Faults of the film drive that are present now.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FilmFaults {
    /// Film or roller held.
    pub jam: Option<Jam>,
    /// The take-up reel does not turn, whatever its motor does.
    pub take_up_stalled: bool,
    /// Share of the roller's travel by which the film falls behind, 0…1.
    pub slip: f64,
    /// The roller's encoder gives no more counts.
    pub encoder_dead: bool,
    /// Brakes stay on (`true`) or off (`false`), whatever is asked.
    pub brake_stuck: Option<bool>,
    /// The supply reel turns freely: its motor gives no torque and its brake does not hold.
    pub supply_free: bool,
    /// The roller's bridge gives this share of its supply, −1…1, whatever it is asked, as long as it has power:
    /// a relay takes the power from all bridges when the brakes go on.
    pub bridge_stuck: Option<f64>,
}
