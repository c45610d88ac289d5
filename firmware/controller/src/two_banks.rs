/// Two banks of eight: roll couples at 0.6 m, pitch and yaw singles 1.2 m behind the centre of mass.
pub(crate) fn two_banks() -> Settings {
    let rows: [([f32; 3], [f32; 3]); 8] = [
        ([0.0, 0.6, 0.0], [0.0, 0.0, 1.0]),
        ([0.0, -0.6, 0.0], [0.0, 0.0, -1.0]),
        ([0.0, 0.6, 0.0], [0.0, 0.0, -1.0]),
        ([0.0, -0.6, 0.0], [0.0, 0.0, 1.0]),
        ([-1.2, 0.0, 0.0], [0.0, 0.0, 1.0]),
        ([-1.2, 0.0, 0.0], [0.0, 0.0, -1.0]),
        ([-1.2, 0.0, 0.0], [0.0, -1.0, 0.0]),
        ([-1.2, 0.0, 0.0], [0.0, 1.0, 0.0]),
    ];
    let mut settings = Settings::default();
    for bank in 0..2 {
        for ([x_m, y_m, z_m], [push_x, push_y, push_z]) in rows {
            let jet = JetSettings { bank, x_m, y_m, z_m, push_x, push_y, push_z, thrust_n: 0.5 };
            settings.jets.push(jet).unwrap();
        }
    }
    settings
}
