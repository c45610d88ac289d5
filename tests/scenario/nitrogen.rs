//! Nitrogen as a real gas, against CoolProp 8.0.0 (Span et al. 2000), check values S13-26 and S13-27.

use stillframe::nitrogen::{GAS_CONSTANT, compressibility, density_kg_m3};

#[test]
fn compressibility_is_that_of_the_reference_equation() {
    for (pressure, wanted) in [(20e6, 1.051_797_54), (30e6, 1.140_054_32)] {
        let density = density_kg_m3(pressure, 293.15);
        // The outside values divide by today's gas constant and M = 28.0134 g/mol; the equation has older ones.
        let found = pressure * 28.0134e-3 / (density * 8.314_462_618 * 293.15);
        assert!((found - wanted).abs() < 1e-7, "{pressure}: {found} against {wanted}");
        let own = compressibility(density, 293.15);
        assert!((density * GAS_CONSTANT * 293.15 * own / pressure - 1.0).abs() < 1e-9);
    }
}

#[test]
fn thin_gas_is_ideal() {
    assert!((compressibility(1e-6, 293.15) - 1.0).abs() < 1e-8);
}
