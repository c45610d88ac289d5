//! Files of winds aloft: comma-separated, one height a line.

use super::parts::descent::Wind;

/// Reads `height_km,east_m_s,north_m_s,sigma_m_s` under a header of those names, in any order; `sigma_m_s` may be
/// left out.
///
/// # Errors
/// What is wrong, with its line.
pub fn read_winds(text: &str) -> Result<Vec<Wind>, String> {
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).comment(Some(b'#')).from_reader(text.as_bytes());
    let header = reader.headers().map_err(|error| error.to_string())?.clone();
    let place = |name: &str| header.iter().position(|column| column == name);
    let needed = ["height_km", "east_m_s", "north_m_s"];
    if let Some(missing) = needed.iter().find(|name| place(name).is_none()) {
        return Err(format!("the header has no column {missing}"));
    }
    let mut winds = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| error.to_string())?;
        let line = record.position().map_or(0, csv::Position::line);
        let number = |name: &str, most: f64| {
            let Some(column) = place(name) else { return Ok(0.0) };
            let found = record.get(column).and_then(|text| text.parse::<f64>().ok()).filter(|n| n.abs() <= most);
            found.ok_or_else(|| format!("line {line}: {name} is not a number of at most {most} in size"))
        };
        winds.push(Wind {
            height_m: 1e3 * number("height_km", 120.0)?,
            east_m_s: number("east_m_s", 150.0)?,
            north_m_s: number("north_m_s", 150.0)?,
            sigma_m_s: number("sigma_m_s", 100.0)?.abs(),
        });
    }
    if winds.is_empty() { Err("it holds no winds".to_owned()) } else { Ok(winds) }
}

/// The first height that is not above the one before, counted from 1.
pub fn first_not_rising(winds: &[Wind]) -> Option<usize> {
    winds.windows(2).position(|pair| pair[1].height_m <= pair[0].height_m).map(|place| place + 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_read_and_a_bad_one_refused_with_its_line() {
        let winds = read_winds("east_m_s, height_km, north_m_s\n# calm\n3, 0, -1\n20, 10, 4\n").expect("winds");
        assert_eq!(winds[1], Wind { height_m: 10e3, east_m_s: 20.0, north_m_s: 4.0, sigma_m_s: 0.0 });
        assert_eq!(first_not_rising(&winds), None);
        let bad = read_winds("height_km,east_m_s,north_m_s\n0,1,1\n1,fast,1\n").expect_err("no number");
        assert!(bad.contains("line 3") && bad.contains("east_m_s"), "{bad}");
        assert!(read_winds("height_km,east_m_s\n0,1\n").expect_err("no column").contains("north_m_s"));
        let falling = read_winds("height_km,east_m_s,north_m_s\n5,1,1\n5,1,1\n").expect("winds");
        assert_eq!(first_not_rising(&falling), Some(2));
    }
}
