//! What the ground last heard from the vehicle, out of a run's results folder.
//!
//! Only what came down in a contact counts: of the record, the columns that telemetry carries, at the last row in
//! which a station had contact.

use crate::record::{RecordError, files, reading::read_columns};
use std::path::Path;
use thiserror::Error;

/// The last telemetry that a station heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// On-board tick.
    pub tick: u32,
    /// Film let through by the metering roller, what was wound on before the start included, m.
    pub metered_m: f64,
    /// Gas left by the tank's gauges, kg.
    pub gas_kg: f64,
}

/// Why nothing could be read.
#[derive(Debug, Error)]
pub enum HeardError {
    /// The record cannot be read.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// A column is missing.
    #[error("{0} has not all columns that are needed: it is no record of this program's flights")]
    Columns(String),
    /// No station ever heard the vehicle.
    #[error("no station heard the vehicle in {0}: there is nothing observed to start from")]
    Nothing(String),
}

/// Reads the last telemetry heard in the run of a results folder.
///
/// # Errors
/// [`HeardError`].
pub fn last_heard(folder: &Path) -> Result<Heard, HeardError> {
    let path = folder.join(files::RECORD);
    let names = ["tick", "metered_film_m", "assumed_gas_kg", "contact_station"];
    let columns = read_columns(&path, &names)?;
    let shown = || path.display().to_string();
    let [Some(tick), Some(metered), Some(gas), Some(station)] = columns.as_slice() else {
        return Err(HeardError::Columns(shown()));
    };
    // Stored as 32 bits: −1, no contact, comes back as its unsigned twin.
    let heard = |value: &f64| (0.0..1e6).contains(value);
    let last = station.iter().rposition(heard).ok_or_else(|| HeardError::Nothing(shown()))?;
    match (tick.get(last), metered.get(last), gas.get(last)) {
        (Some(tick), Some(metered_m), Some(gas_kg)) => {
            Ok(Heard { tick: *tick as u32, metered_m: *metered_m, gas_kg: *gas_kg })
        }
        _ => Err(HeardError::Columns(shown())),
    }
}
