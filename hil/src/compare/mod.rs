//! Bit-for-bit comparison, and the name of the first field that differs.

mod flatten;

pub use flatten::{Leaf, flatten};

use serde::Serialize;

/// A field that is not the same here and there.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Difference {
    /// Path of the field, such as `actuators.jets[3].open_us`.
    pub field: String,
    /// Value on the desk.
    pub desk: String,
    /// Value on the board.
    pub board: String,
    /// Bit pattern on the desk, hexadecimal.
    pub desk_bits: String,
    /// Bit pattern on the board, hexadecimal.
    pub board_bits: String,
}

/// The first field of `desk` and `board` that differs in its bits. All bit patterns that mean *not a number* are one:
/// processors may choose among them.
pub fn first_difference<T: Serialize>(name: &str, desk: &T, board: &T) -> Option<Difference> {
    // Almost always equal, and this is much faster than taking both to pieces.
    let (mut a, mut b) = ([0; 2_048], [0; 2_048]);
    if let (Ok(a), Ok(b)) = (postcard::to_slice(desk, &mut a), postcard::to_slice(board, &mut b))
        && a == b
    {
        return None;
    }
    let (desk, board) = (flatten(name, desk), flatten(name, board));
    let differing = desk.iter().zip(&board).find(|(a, b)| a != b);
    if let Some(((field, desk), (other, board))) = differing {
        // A value that is there on one side only changes the path as well as the value.
        let field = if other.len() > field.len() { other } else { field };
        return Some(difference(field, Some(desk), Some(board)));
    }
    let at = desk.len().min(board.len());
    let (longer, is_desk) = if desk.len() > board.len() { (&desk, true) } else { (&board, false) };
    longer.get(at).map(
        |(field, leaf)| {
            if is_desk { difference(field, Some(leaf), None) } else { difference(field, None, Some(leaf)) }
        },
    )
}

fn difference(field: &str, desk: Option<&Leaf>, board: Option<&Leaf>) -> Difference {
    let value = |leaf: Option<&Leaf>| leaf.map_or("–".to_owned(), ToString::to_string);
    let bits = |leaf: Option<&Leaf>| leaf.map_or("–".to_owned(), Leaf::bits);
    Difference {
        field: field.to_owned(),
        desk: value(desk),
        board: value(board),
        desk_bits: bits(desk),
        board_bits: bits(board),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use stillframe_controller::io::{Actuators, Edges};

    #[test]
    fn equal_is_equal_and_any_not_a_number_is_as_good_as_another() {
        let mut one = Actuators::SAFE;
        assert_eq!(first_difference("actuators", &one, &one.clone()), None);
        one.film.roller_duty = f32::from_bits(0x7fc0_0000);
        let mut two = one.clone();
        two.film.roller_duty = f32::from_bits(0xffc0_0001);
        assert_eq!(first_difference("actuators", &one, &two), None);
    }

    #[test]
    fn one_bit_is_named_with_both_patterns() {
        let desk = Actuators {
            film: stillframe_controller::io::FilmDrive { supply_duty: 0.5, ..Actuators::SAFE.film },
            ..Actuators::SAFE
        };
        let mut board = desk.clone();
        board.film.supply_duty = f32::from_bits(0.5_f32.to_bits() + 1);
        let found = first_difference("actuators", &desk, &board).expect("they differ");
        assert_eq!(found.field, "actuators.film.supply_duty");
        assert_eq!((found.desk_bits.as_str(), found.board_bits.as_str()), ("3f000000", "3f000001"));
        assert_eq!((found.desk.as_str(), found.board.as_str()), ("0.5", "0.50000006"));
    }

    #[test]
    fn a_missing_value_and_a_signed_zero_are_differences() {
        let desk = Actuators::SAFE;
        let mut board = desk.clone();
        board.jets[3] = Edges { open_us: Some(17), close_us: Some(0) };
        let found = first_difference("actuators", &desk, &board).expect("they differ");
        assert_eq!(
            (found.field.as_str(), found.desk.as_str(), found.board.as_str()),
            ("actuators.jets[3].open_us", "none", "17")
        );
        let mut board = desk.clone();
        board.film.roller_duty = -0.0;
        assert_eq!(first_difference("a", &desk, &board).map(|found| found.board_bits), Some("80000000".to_owned()));
    }
}
