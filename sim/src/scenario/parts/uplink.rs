//! `[[uplink]]`: what the ground sends by radio in the course of the run.

use super::command::{CommandTime, NoAmount};
use super::fault::ReceiverName;
use crate::scenario::read::spec::plain;
use crate::scenario::read::tagged::Tagged;
use crate::{choice, record, union};

/// Something to be sent in the first contact after its time, and in later ones until telemetry shows what came of it.
pub type Uplink = Tagged<CommandTime, Sending>;

union! {
    /// What is sent.
    Sending by "send" {
        /// A new load with what is still to come of this file's programme.
        Programme(NoAmount) = "programme",
        /// A load with a mistake in it, sent without being looked at: the vehicle is to refuse it by itself.
        Wrong(WrongLoad) = "wrong_load",
        /// Nothing but a sign that the ground is there.
        Hail(NoAmount) = "hail",
        /// The receiver that is to listen.
        Listen(ListenWith) = "listen",
    }
}

record! {
    /// A load with a mistake.
    WrongLoad {
        /// The mistake.
        mistake: Mistake = "mistake", plain();
    }
}

choice! {
    /// What is wrong with a load.
    Mistake {
        /// The camera stays on at the end.
        CameraLeftOn = "camera_left_on",
        /// A time has passed.
        TimePast = "time_past",
        /// A time ten seconds before the clock's beginning, rolled over.
        TimeRolledOver = "time_rolled_over",
        /// The camera goes on twice.
        CameraTwice = "camera_twice",
        /// Film would be used down into the reserve.
        FilmBeyondReserve = "film_beyond_reserve",
        /// The receiver stays off at the end.
        ReceiverLeftOff = "receiver_left_off",
        /// The vehicle would make itself safe only after the longest silence that can be written.
        SilenceTooLong = "silence_too_long",
        /// The camera goes on after the film is cut.
        CameraAfterCut = "camera_after_cut",
    }
}

record! {
    /// A receiver to listen with.
    ListenWith {
        /// Which.
        receiver: ReceiverName = "receiver", plain();
    }
}
