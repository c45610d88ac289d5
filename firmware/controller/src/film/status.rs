//! What is asked of the transport, and what it says about itself.

/// What is asked of the film, every tick.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Demand {
    /// Film at rest under its brakes.
    #[default]
    Rest,
    /// Film at rest, brakes off, tension held by the reels: between the advances of a framing camera.
    Hold,
    /// Film running at a speed, m/s.
    Run {
        /// Speed asked, m/s, above zero.
        speed_m_s: f32,
    },
    /// One length of film moved on. Begins when it is first asked for; has arrived when the status says
    /// so; must be followed by something else before the next can begin.
    Advance {
        /// Length, m, above zero.
        length_m: f32,
    },
    /// Film led on, cut, its tail wound in, and its way into the capsule shut. Cannot be undone.
    Secure,
}

/// What the transport is doing.
///
/// ```text
///            Run/Advance/Hold               loops in order
///   Braked ────────────────────► Readying ─────────────────► Holding ◄──────► Advancing
///     ▲  ▲                                                    │   ▲  Advance / arrived
///     │  │        loops evened out, or time up          Run   ▼   │
///     │  └──────────────── Evening ◄─── RunningDown ◄─── RunningUp ◄──► Steady
///     │                                 Rest, Hold
///     └── Resting (one retry after a wait) ◄──── any fault ────► Stopped (until acknowledged)
///
///   Holding ─ Secure ─► Leading ─► Evening ─► Braked ─► Cutting ─► Tailing ─► Sealing ─► Secured
/// ```
///
/// Only [`super::Transport::step`] moves between them; only `acknowledge`, or securing, leaves `Stopped`.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
pub enum State {
    /// Motors off, brakes on; the arms keep the tension.
    #[default]
    Braked,
    /// Brakes off, reels pulling both loops into order; film still.
    Readying,
    /// Film still, loops in order, reels holding tension.
    Holding,
    /// Speed on its ramp towards the speed asked.
    RunningUp,
    /// The reference is at the speed asked.
    Steady,
    /// Speed on its ramp towards zero.
    RunningDown,
    /// Film still, reels bringing the arms back before the brakes go on.
    Evening,
    /// Moving one length on.
    Advancing,
    /// Braked after film was stuck, waiting for the one new attempt.
    Resting,
    /// Braked by a fault until the ground acknowledges it.
    Stopped,
    /// Film moving on so that the last picture lies inside the take-up reel.
    Leading,
    /// Under the brakes, the knife at work.
    Cutting,
    /// The take-up reel winding in the tail that the knife left.
    Tailing,
    /// Under the brakes, the closure at work.
    Sealing,
    /// Cut and sealed as commanded; the film does not move any more. Nothing on board observes it.
    Secured,
}

/// Why the film was stopped.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Fault {
    /// The motor pulls and no film moves, it draws too much for too long, or film stands still under a
    /// roller that turns.
    Stuck,
    /// A loop went slack although its reel took film out of it: the film has parted.
    Broken,
    /// A loop filled up to its limit: a reel does not take, or overruns.
    Slack,
    /// A loop emptied to its limit: a reel does not give.
    Tight,
    /// The supply gave more film than the roller took: it is slack, but whole.
    Overrun,
    /// Film runs faster than anything asked of it.
    Runaway,
    /// The supply has come to its end and the film has left its core.
    Empty,
    /// Reels turn and the roller's counter does not.
    CounterDead,
    /// Gauges gave no numbers, or impossible ones, for too long.
    Gauges,
}

/// What the transport says about itself; rewritten every tick.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Status {
    /// What it is doing.
    pub state: State,
    /// Film counted through the roller since launch, in roller counts. This is the measure of all film.
    pub metered_counts: i32,
    /// Speed of the counted film, m/s.
    pub speed_m_s: f32,
    /// Speed and tension have been inside their limits long enough to expose.
    pub valid: bool,
    /// The advance that is asked for has arrived.
    pub arrived: bool,
    /// Cause of the last stop, kept until acknowledged; film is barred only while the state says so.
    pub fault: Option<Fault>,
    /// Attempts made again after film was stuck, since the last acknowledgement.
    pub retries: u8,
    /// Film left down to the reserve is used up, by film counted or by the supply reel's own size: no run begins.
    pub reserve_reached: bool,
    /// Tension before and after the roller as the arms show it, N.
    pub tension_n: [f32; 2],
    /// Radius of the film on the supply and the take-up reel, from film counted against reel counts, m.
    pub radius_m: [f32; 2],
    /// Share by which the film counted exceeds the film that the supply reel, and the take-up reel, show
    /// by their turns: the on-board balance of film. Positive when film slips on the roller. Nothing
    /// until enough has run.
    pub residual: [Option<f32>; 2],
    /// One of the residuals is beyond its limit: frames must be flagged.
    pub disagreement: bool,
    /// Angular momentum of the reels about body +y as estimated, N·m·s.
    pub momentum_nms: f32,
    /// Inputs refused since start (counts that jumped, gauges that gave no number); saturates.
    pub refused_inputs: u16,
}
