//! Everything an engineer sets about the film transport.

use crate::settings_group;

settings_group! {
    /// Film transport: scales of its gauges, what the mechanism is, gains of its loops, and limits.
    FilmSettings = "film" {
        roller_radius_m: f32 = 0.02, 0.002 ..= 0.2, "m", "Radius of the metering roller.";
        roller_counts_per_turn: u32 = 32768, 256 ..= 4194304, "counts", "Counts of the roller's encoder in a turn.";
        reel_counts_per_turn: u32 = 1024, 16 ..= 65536, "counts", "Counts of either reel's encoder in a turn.";
        core_radius_m: f32 = 0.04, 0.005 ..= 0.2, "m", "Radius of both reels' bare cores.";
        film_thickness_m: f32 = 7.6e-5, 1e-5 ..= 5e-4, "m", "Thickness of the film.";
        film_kg_m: f32 = 0.013416, 1e-4 ..= 0.1, "kg/m", "Mass of a metre of film.";
        hub_inertia_kg_m2: f32 = 0.004, 0.0 ..= 1.0, "kg·m²", "Inertia of a bare reel with its motor.";
        roller_inertia_kg_m2: f32 = 2e-4, 0.0 ..= 0.1, "kg·m²", "Inertia of the roller with its motor.";
        load_length_m: f32 = 900.0, 1.0 ..= 8000.0, "m", "Film loaded at launch.";
        wound_length_m: f32 = 0.0, 0.0 ..= 8000.0, "m", "Film already metered when this software starts.";
        threaded_length_m: f32 = 1.2, 0.0 ..= 50.0, "m", "Film between the reels.";
        reserve_length_m: f32 = 15.0, 0.0 ..= 500.0, "m", "Film kept for cutting and sealing: no run begins or goes on into it.";
        bus_v: f32 = 28.0, 3.0 ..= 100.0, "V", "Supply voltage of the motors.";
        roller_constant_nm_a: f32 = 1.0, 0.001 ..= 50.0, "N·m/A", "Torque constant of the roller's motor at the roller.";
        roller_resistance_ohm: f32 = 5.0, 0.05 ..= 500.0, "Ω", "Resistance of the roller's motor.";
        roller_drag_nm: f32 = 0.01, 0.0 ..= 1.0, "N·m", "Friction of the roller, fed forward.";
        reel_constant_nm_a: f32 = 2.0, 0.001 ..= 50.0, "N·m/A", "Torque constant of a reel's motor at the reel.";
        reel_resistance_ohm: f32 = 20.0, 0.05 ..= 500.0, "Ω", "Resistance of a reel's motor.";
        reel_drag_nm: f32 = 0.02, 0.0 ..= 1.0, "N·m", "Friction of a reel, fed forward.";
        tension_n: f32 = 6.0, 0.5 ..= 100.0, "N", "Tension to hold.";
        tension_min_n: f32 = 3.0, 0.0 ..= 100.0, "N", "Film is not valid below this tension.";
        tension_max_n: f32 = 10.0, 0.5 ..= 200.0, "N", "Film is not valid above this tension.";
        arm_middle_tension_n: f32 = 6.0, 0.5 ..= 100.0, "N", "Tension that an arm's spring balances in its middle.";
        arm_stiffness_n_m: f32 = 60.0, 0.0 ..= 10000.0, "N/m", "Spring rate of an arm.";
        arm_travel_m: f32 = 0.04, 0.002 ..= 0.5, "m", "Travel of an arm from its middle to a stop.";
        arm_limit_share: f32 = 0.85, 0.1 ..= 1.0, "of travel", "An arm further out than this for long stops the film.";
        arm_gain_n_m: f32 = 90.0, 0.0 ..= 5000.0, "N/m", "Pull on the film asked of a reel for an arm's displacement.";
        arm_damping_n_s_m: f32 = 20.0, 0.0 ..= 1000.0, "N·s/m", "Pull on the film asked of a reel for an arm's speed.";
        arm_integral_n_m_s: f32 = 60.0, 0.0 ..= 5000.0, "N/(m·s)", "Pull gained each second for an arm's displacement.";
        arm_integral_limit_n: f32 = 2.0, 0.0 ..= 50.0, "N", "Most pull that the integral may ask.";
        arm_rate_1_s: f32 = 1.0, 0.0 ..= 20.0, "1/s", "Share of a loop's surplus that its reel is asked to clear in a second.";
        reel_smoothing_s: f32 = 0.0, 0.0 ..= 60.0, "s", "Time over which the reels smooth the roller's speed: 0 when film runs steadily, about a cycle when it is stepped.";
        ramp_m_s2: f32 = 0.1, 0.001 ..= 20.0, "m/s²", "Acceleration of run-up, run-down and changes of speed.";
        advance_ramp_m_s2: f32 = 0.5, 0.001 ..= 20.0, "m/s²", "Acceleration of an advance.";
        advance_speed_m_s: f32 = 0.16, 0.001 ..= 2.0, "m/s", "Top speed of an advance.";
        speed_max_m_s: f32 = 0.3, 0.001 ..= 2.0, "m/s", "Highest speed obeyed; more than this is asked for in error.";
        position_gain_1_s: f32 = 12.0, 0.0 ..= 50.0, "1/s", "Speed asked of the roller for a lag behind its reference.";
        integral_gain_1_s2: f32 = 20.0, 0.0 ..= 500.0, "1/s²", "Speed gained each second for a lag behind the reference.";
        correction_limit_m_s: f32 = 0.02, 0.0 ..= 1.0, "m/s", "Most speed that both gains together may ask.";
        speed_window_ticks: u32 = 16, 2 ..= 31, "ticks", "Time over which counted film is turned into speed.";
        valid_band: f32 = 0.01, 0.0005 ..= 0.2, "of speed", "Film is valid while its speed is this close to the speed asked.";
        valid_ticks: u32 = 8, 1 ..= 1000, "ticks", "Time that speed and tension must have been inside their limits.";
        arrive_counts: u32 = 40, 1 ..= 100000, "counts", "An advance has arrived when this close to its end.";
        ready_ticks: u32 = 4, 1 ..= 1000, "ticks", "Time that both loops must be in order before film starts.";
        ready_limit_ticks: u32 = 300, 1 ..= 60000, "ticks", "Loops not in order after this long stop the attempt.";
        rewind_limit_ticks: u32 = 3000, 1 ..= 60000, "ticks", "The same after the supply overran: time to take back what it let go.";
        centring_ticks: u32 = 150, 1 ..= 60000, "ticks", "Most time after run-down in which the reels bring the arms back.";
        centred_share: f32 = 0.05, 0.001 ..= 0.5, "of travel", "Arms this close to where they belong are good enough for the brakes.";
        stuck_share: f32 = 0.3, 0.0 ..= 0.9, "of speed", "Film slower than this share of the speed asked is not moving.";
        stuck_speed_m_s: f32 = 0.003, 0.0 ..= 0.5, "m/s", "Below this speed asked, standing still proves nothing.";
        stuck_current_a: f32 = 0.8, 0.01 ..= 50.0, "A", "The roller's motor never needs this much for long.";
        stuck_ticks: u32 = 12, 2 ..= 100, "ticks", "Time of standing still, or of too much current, that stops the motors.";
        slide_current_a: f32 = 0.1, 0.005 ..= 50.0, "A", "Roller current that, with both loops moving as if no film passed between them, means that film is held in the gate.";
        slide_ticks: u32 = 6, 2 ..= 100, "ticks", "Time of those signs that stops the motors.";
        runaway_m_s: f32 = 0.05, 0.005 ..= 2.0, "m/s", "Film faster than it is asked to be by this much runs away.";
        runaway_ticks: u32 = 3, 2 ..= 100, "ticks", "Time of running away that stops the motors.";
        retry_wait_ticks: u32 = 100, 10 ..= 60000, "ticks", "Rest before the one new attempt after film was stuck or the supply overran.";
        limit_ticks: u32 = 5, 2 ..= 1000, "ticks", "Time that an arm must be at its limit to be believed.";
        invalid_ticks: u32 = 5, 2 ..= 1000, "ticks", "Time that a gauge must talk nonsense before the film is stopped.";
        jump_counts: u32 = 2000, 10 ..= 1000000, "counts", "More roller counts than this in a tick are not film.";
        residual_limit: f32 = 0.015, 0.001 ..= 0.5, "of length", "Roller and reels disagree when their lengths differ by this share.";
        residual_counts: u32 = 512, 16 ..= 65536, "counts", "Reel counts over which lengths are compared.";
        free_reel_m_s: f32 = 0.1, 0.005 ..= 10.0, "m/s", "A reel whose film differs in speed from the film counted by more than this turns by itself, and has a momentum of its own.";
        empty_share: f32 = 0.02, 0.0 ..= 1.0, "of core radius", "A supply reel measured this close to its bare core is empty.";
        leader_length_m: f32 = 3.0, 0.0 ..= 100.0, "m", "Film led on before it is cut, so that the last picture lies inside the take-up reel.";
        tail_length_m: f32 = 1.5, 0.05 ..= 20.0, "m", "Film that the take-up reel winds in after the cut: more than lies between knife and reel.";
        tail_speed_m_s: f32 = 0.05, 0.005 ..= 0.5, "m/s", "Speed at which the tail is wound in.";
        tail_limit_ticks: u32 = 6000, 10 ..= 60000, "ticks", "Longest time of winding in the tail.";
        cut_ticks: u32 = 50, 1 ..= 6000, "ticks", "Time for the knife to act.";
        seal_ticks: u32 = 100, 1 ..= 6000, "ticks", "Time for the closure to act.";
    }
}

impl FilmSettings {
    /// Starting values for the framing camera: long arms, reels that smooth over about a cycle.
    pub fn framing() -> Self {
        Self {
            threaded_length_m: 2.0,
            arm_stiffness_n_m: 30.0,
            arm_travel_m: 0.1,
            arm_gain_n_m: 20.0,
            arm_damping_n_s_m: 10.0,
            arm_integral_n_m_s: 4.0,
            arm_rate_1_s: 0.7,
            reel_smoothing_s: 1.5,
            centring_ticks: 400,
            ..Self::default()
        }
    }

    /// Length of film in one roller count, m.
    pub fn count_m(&self) -> f32 {
        core::f32::consts::TAU * self.roller_radius_m / self.roller_counts_per_turn.max(1) as f32
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings_table::Group;

    #[test]
    fn both_mechanisms_lie_inside_the_table() {
        assert_eq!(FilmSettings::default().check(), Ok(()));
        assert_eq!(FilmSettings::framing().check(), Ok(()));
    }
}
