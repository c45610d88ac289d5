//! `[vehicle]`, `[[jet]]` and `[tank]`: what turns, and what turns it.

use crate::scenario::check::{mass, tank};
use crate::scenario::read::context::Context;
use crate::scenario::read::spec::{number, plain, text};
use crate::scenario::read::unit::{
    AMPERE_M2, CELSIUS, DEG_S, DEGREE, KG, KG_M2, LITRE, METRE, MPA, MS, NEWTON, NONE, PERCENT, SCC_H, SECOND,
    SQUARE_METRE,
};
use crate::{choice, record};

record! {
    /// The vehicle's body. Positions count from the dry mass centre, in body axes: x along track, y opposite
    /// the orbit normal, z down.
    Vehicle {
        /// Mass without film and gas.
        dry_mass_kg: f64 = "dry_mass_kg", number(KG, 1.0, 50_000.0);
        /// Inertia without film and gas, about the dry mass centre.
        inertia: Inertia = "inertia", plain();
        /// Area that meets the air: it slows the orbit, and turns the vehicle if no `[[surface]]` is given.
        drag_area_m2: f64 = "drag_area_m2", number(SQUARE_METRE, 0.0, 500.0);
        /// Drag coefficient, referred to that area.
        drag_coefficient: f64 = "drag_coefficient", number(NONE, 0.0, 10.0).or(2.2);
        /// Where the air's force acts if no `[[surface]]` is given, x, y, z.
        pressure_centre_m: [f64; 3] = "pressure_centre_m", number(METRE, -20.0, 20.0);
        /// Magnetic dipole that is left over, x, y, z.
        dipole_a_m2: [f64; 3] = "dipole_a_m2", number(AMPERE_M2, -1e3, 1e3).or_all(&[0.0; 3]);
        /// Roll, pitch and yaw at the start, against the local orbital frame.
        attitude_rad: [f64; 3] = "attitude_deg", number(DEGREE, -180.0, 180.0).or_all(&[0.0; 3]);
        /// Body rates about x, y, z at the start, against inertial space.
        tip_off_rad_s: [f64; 3] = "tip_off_deg_s", number(DEG_S, -20.0, 20.0).or_all(&[0.0; 3]);
        /// Axis of the supply reel.
        supply_reel_m: [f64; 3] = "supply_reel_m", number(METRE, -20.0, 20.0);
        /// Axis of the take-up reel.
        take_up_reel_m: [f64; 3] = "take_up_reel_m", number(METRE, -20.0, 20.0);
        /// Middle of the gas tank.
        tank_m: [f64; 3] = "tank_m", number(METRE, -20.0, 20.0);
    }
}

record! {
    /// Inertia tensor: moments, and off-diagonal elements as they stand in the tensor (xy = −∫x·y dm).
    Inertia checked by mass::check_inertia {
        /// About x.
        xx_kg_m2: f64 = "xx_kg_m2", number(KG_M2, 0.001, 1e6);
        /// About y.
        yy_kg_m2: f64 = "yy_kg_m2", number(KG_M2, 0.001, 1e6);
        /// About z.
        zz_kg_m2: f64 = "zz_kg_m2", number(KG_M2, 0.001, 1e6);
        /// Element xy.
        xy_kg_m2: f64 = "xy_kg_m2", number(KG_M2, -1e6, 1e6).or(0.0);
        /// Element xz.
        xz_kg_m2: f64 = "xz_kg_m2", number(KG_M2, -1e6, 1e6).or(0.0);
        /// Element yz.
        yz_kg_m2: f64 = "yz_kg_m2", number(KG_M2, -1e6, 1e6).or(0.0);
    }
}

choice! {
    /// Bank of jets behind one upstream latch valve.
    Bank {
        /// First bank.
        A = "A",
        /// Second bank.
        B = "B",
    }
}

record! {
    /// One jet.
    Jet checked by check_jet {
        /// Name, as faults and reports call it.
        name: String = "name", text(24);
        /// Bank it hangs on.
        bank: Bank = "bank", plain().or_text("A");
        /// Nozzle, from the dry mass centre.
        position_m: [f64; 3] = "position_m", number(METRE, -20.0, 20.0);
        /// Direction of the thrust on the vehicle, opposite the plume; any length.
        direction: [f64; 3] = "direction", number(NONE, -1e3, 1e3);
        /// Thrust with the valve open.
        thrust_n: f64 = "thrust_n", number(NEWTON, 0.001, 100.0);
        /// Specific impulse in vacuum.
        specific_impulse_s: f64 = "specific_impulse_s", number(SECOND, 10.0, 400.0).or(68.0);
        /// From the opening edge to thrust.
        open_delay_s: f64 = "open_delay_ms", number(MS, 0.0, 200.0).or(4.0);
        /// From the closing edge to no thrust.
        close_delay_s: f64 = "close_delay_ms", number(MS, 0.0, 200.0).or(4.0);
        /// Shortest opening that gives a repeatable pulse.
        minimum_pulse_s: f64 = "minimum_pulse_ms", number(MS, 1.0, 1000.0).or(20.0);
        /// Small turn of the thrust about body x, y, z away from its direction: how it was mounted in truth.
        misalignment_rad: [f64; 3] = "misalignment_deg", number(DEGREE, -10.0, 10.0).or_all(&[0.0; 3]);
        /// Share of the thrust that its plume leaves on the vehicle: a force along the plume, against the thrust.
        plume_share: f64 = "plume_percent", number(PERCENT, 0.0, 50.0).or(0.0);
        /// Middle of what the plume strikes, from the dry mass centre; needed if it strikes anything.
        plume_on_m: Option<[f64; 3]> = "plume_on_m", number(METRE, -20.0, 20.0).optional();
    }
}

impl Jet {
    /// Direction of the thrust on the vehicle, length 1, before misalignment.
    pub fn unit_direction(&self) -> [f64; 3] {
        let [x, y, z] = self.direction;
        let length = (x * x + y * y + z * z).sqrt();
        [x / length, y / length, z / length]
    }
}

fn check_jet(jet: &Jet, key: &str, cx: &mut Context) {
    if jet.plume_share > 0.0 && jet.plume_on_m.is_none() {
        let help = "Give the middle of the surface it strikes, from the dry mass centre; or leave plume_percent away.";
        let message = format!("{key}.plume_percent = {} strikes nothing", jet.plume_share * 1e2);
        cx.refuse(&format!("{key}.plume_percent"), message, "allowed with plume_on_m = [x, y, z]", help);
    }
    if jet.direction.iter().all(|part| part.abs() < 1e-6) {
        let help = "The direction of the thrust on the vehicle, opposite the plume; any length but zero.";
        let key = format!("{key}.direction");
        cx.refuse(&key, format!("{key} points nowhere"), "allowed: at least one part other than 0", help);
    }
}

record! {
    /// Nitrogen tank.
    Tank checked by tank::check_load {
        /// Inner volume.
        volume_m3: f64 = "volume_l", number(LITRE, 0.1, 1000.0);
        /// Gas at the start.
        gas_kg: f64 = "gas_kg", number(KG, 0.001, 500.0);
        /// Temperature at the start.
        temperature_k: f64 = "temperature_c", number(CELSIUS, -60.0, 80.0).or(20.0);
        /// Time constant with which tank and structure warm gas that has cooled as it was drawn; 0: heaters hold its
        /// temperature.
        soak_s: f64 = "heat_soak_s", number(SECOND, 0.0, 1e6).or(0.0);
        /// Highest pressure the tank is rated for.
        max_pressure_pa: f64 = "max_pressure_mpa", number(MPA, 0.1, 60.0).or(25.0);
        /// Steady leak of the whole system that gives no torque.
        leak_kg_s: f64 = "leak_scc_per_hour", number(SCC_H, 0.0, 1e6).or(0.0);
    }
}
