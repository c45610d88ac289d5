//! How fast the ground moves across the image: exact, for any attitude, rate and point of the format.
//!
//! A ground point `P = (X, Y, Z)` in body axes has the image `x = f·X/Z, y = f·Y/Z`. Its velocity relative
//! to the camera, `W − ω×P` with `W` the inertial velocity difference, gives the image velocity
//!
//! ```text
//! ẋ = (f·Wx − x·Wz)/Z + (x·y/f)·ωx − (f + x²/f)·ωy + y·ωz
//! ẏ = (f·Wy − y·Wz)/Z + (f + y²/f)·ωx − (x·y/f)·ωy − x·ωz
//! ```
//!
//! (the image Jacobian; Hutchinson, Hager & Corke 1996 give the same matrix, cited from memory). The
//! rotation terms do not hold `Z`: rotation smears alike at any range.

use nalgebra::{Matrix3, Vector2, Vector3};

use super::earth::Earth;
use super::sample::TruthSample;

/// A ground point that the camera sees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroundPoint {
    /// Position, Earth-fixed, m.
    pub earth_fixed_m: Vector3<f64>,
    /// Upward unit normal of the ellipsoid there, Earth-fixed.
    pub up_earth_fixed: Vector3<f64>,
    /// Distance from the camera, m.
    pub slant_range_m: f64,
}

impl GroundPoint {
    /// Geodetic latitude, rad.
    pub fn latitude_rad(&self) -> f64 {
        self.up_earth_fixed.z.clamp(-1.0, 1.0).asin()
    }

    /// Longitude, east positive, −π…π, rad.
    pub fn longitude_rad(&self) -> f64 {
        self.earth_fixed_m.y.atan2(self.earth_fixed_m.x)
    }
}

/// Image of one ground point at one instant, velocities split so that each rate can be taken out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ImagePoint {
    /// Position in the image plane (along, across), m.
    pub position_m: Vector2<f64>,
    /// Image velocity from translation and Earth rotation alone, m/s.
    pub translation_m_s: Vector2<f64>,
    /// Image velocity for one rad/s about body x, y, z, m.
    pub per_rate_m: [Vector2<f64>; 3],
}

impl ImagePoint {
    /// Image velocity at the given inertial body rate, m/s.
    pub fn velocity_m_s(&self, rate_rad_s: &Vector3<f64>) -> Vector2<f64> {
        self.translation_m_s
            + self.per_rate_m[0] * rate_rad_s.x
            + self.per_rate_m[1] * rate_rad_s.y
            + self.per_rate_m[2] * rate_rad_s.z
    }
}

/// One instant of truth made ready for many points: rotation matrices once, not once a point.
#[derive(Clone, Debug)]
pub struct View {
    earth: Earth,
    position_m: Vector3<f64>,
    velocity_m_s: Vector3<f64>,
    rate_rad_s: Vector3<f64>,
    orbital_rate_rad_s: Vector3<f64>,
    inertial_to_body: Matrix3<f64>,
    spin: (f64, f64),
}

impl View {
    /// Makes the sample ready.
    pub fn new(earth: &Earth, sample: &TruthSample) -> Self {
        let inertial_to_body = sample.attitude.to_rotation_matrix().into_inner().transpose();
        let momentum = sample.position_m.cross(&sample.velocity_m_s);
        Self {
            earth: *earth,
            position_m: sample.position_m,
            velocity_m_s: sample.velocity_m_s,
            rate_rad_s: sample.rate_rad_s,
            orbital_rate_rad_s: inertial_to_body * (momentum / sample.position_m.norm_squared()),
            inertial_to_body,
            spin: sample.earth_angle_rad.sin_cos(),
        }
    }

    /// The same view along a line of sight turned by `angle_rad` from body +z towards +y, as the lens of a sweep
    /// stands.
    ///
    /// Film lies on a cylinder about the lens's rear nodal point, so that the image of still ground stands still on it
    /// while the lens turns: what counts is the body's own rate, seen in the turned axes, not the sweep's.
    pub fn looking_across(mut self, angle_rad: f64) -> Self {
        if angle_rad != 0.0 {
            let (s, c) = angle_rad.sin_cos();
            let turned = Matrix3::new(1.0, 0.0, 0.0, 0.0, c, -s, 0.0, s, c);
            self.inertial_to_body = turned * self.inertial_to_body;
            self.rate_rad_s = turned * self.rate_rad_s;
            self.orbital_rate_rad_s = turned * self.orbital_rate_rad_s;
        }
        self
    }

    /// Body rate of truth against inertial space, rad/s.
    pub fn rate_rad_s(&self) -> &Vector3<f64> {
        &self.rate_rad_s
    }

    /// The rate that a camera at rest in the local orbital frame would have, body axes, rad/s: `r×v/r²`.
    pub fn orbital_rate_rad_s(&self) -> &Vector3<f64> {
        &self.orbital_rate_rad_s
    }

    /// The ground point, at `height_m` above the ellipsoid, seen at a point of the image plane. `None` if
    /// the line of sight misses the Earth.
    pub fn ground_at(&self, focal_length_m: f64, x_m: f64, y_m: f64, height_m: f64) -> Option<GroundPoint> {
        let line_body = Vector3::new(x_m, y_m, focal_length_m).normalize();
        let line = self.to_earth_fixed(&self.inertial_to_body.tr_mul(&line_body));
        let camera = self.to_earth_fixed(&self.position_m);
        let earth_fixed_m = self.earth.meet(&camera, &line, height_m)?;
        Some(GroundPoint {
            earth_fixed_m,
            up_earth_fixed: self.earth.normal(&earth_fixed_m, height_m),
            slant_range_m: (earth_fixed_m - camera).norm(),
        })
    }

    /// Image of an Earth-fixed point and its velocity. `None` if the point is not ahead of the camera.
    pub fn image_of(&self, focal_length_m: f64, earth_fixed_m: &Vector3<f64>) -> Option<ImagePoint> {
        let f = focal_length_m;
        let ground = self.to_inertial(earth_fixed_m);
        let ground_velocity = Vector3::new(-ground.y, ground.x, 0.0) * self.earth.rate_rad_s;
        let p = self.inertial_to_body * (ground - self.position_m);
        let w = self.inertial_to_body * (ground_velocity - self.velocity_m_s);
        if p.z.is_nan() || p.z <= 0.0 {
            return None;
        }
        let (x, y) = (f * p.x / p.z, f * p.y / p.z);
        Some(ImagePoint {
            position_m: Vector2::new(x, y),
            translation_m_s: Vector2::new((f * w.x - x * w.z) / p.z, (f * w.y - y * w.z) / p.z),
            per_rate_m: [
                Vector2::new(x * y / f, f + y * y / f),
                Vector2::new(-(f + x * x / f), -x * y / f),
                Vector2::new(y, -x),
            ],
        })
    }

    /// Length on the ground of one metre along each image axis at a point: (along, across), m/m. The
    /// ground is the plane through the point square to its normal.
    pub fn ground_per_image(&self, focal_length_m: f64, ground: &GroundPoint) -> Vector2<f64> {
        let f = focal_length_m;
        let p = self.inertial_to_body * (self.to_inertial(&ground.earth_fixed_m) - self.position_m);
        let up = self.inertial_to_body * self.to_inertial(&ground.up_earth_fixed);
        let (x, y) = (f * p.x / p.z, f * p.y / p.z);
        // d solves: f·dx − x·dz = Z·u, f·dy − y·dz = Z·v, up·d = 0, for the unit image step (u, v).
        let slope = up.x * x + up.y * y + up.z * f;
        let length = |u: f64, v: f64| {
            let dz = -p.z * (up.x * u + up.y * v) / slope;
            Vector3::new((p.z * u + x * dz) / f, (p.z * v + y * dz) / f, dz).norm()
        };
        Vector2::new(length(1.0, 0.0), length(0.0, 1.0))
    }

    fn to_earth_fixed(&self, v: &Vector3<f64>) -> Vector3<f64> {
        let (s, c) = self.spin;
        Vector3::new(c * v.x + s * v.y, c * v.y - s * v.x, v.z)
    }

    /// Earth-fixed components into inertial ones.
    pub fn to_inertial(&self, v: &Vector3<f64>) -> Vector3<f64> {
        let (s, c) = self.spin;
        Vector3::new(c * v.x - s * v.y, c * v.y + s * v.x, v.z)
    }
}

/// What the film and the vehicle would have to do for a still image at the format's centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RequiredMotion {
    /// Film speed that matches the image, m/s, for a camera at rest in the local orbital frame and yawed
    /// so that the image runs along the film.
    pub film_speed_m_s: f64,
    /// Yaw about body +z still to be added for that, −π…π, rad. From a camera square to the orbit it is
    /// the crab yaw itself: negative where the ground moves towards +y (northbound node).
    pub yaw_to_align_rad: f64,
    /// Angular rate of the ground as seen by the camera, orbital rate taken out, rad/s.
    pub v_over_h_rad_s: f64,
    /// Speed of the ground relative to the camera in inertial space over range, rad/s: what a programme
    /// that forgets the camera's turning would use.
    pub v_over_h_inertial_rad_s: f64,
    /// Distance to the ground at the centre, m.
    pub slant_range_m: f64,
}

/// Motion required at the format's centre over ground `height_m` above the ellipsoid. `None` if the
/// boresight misses the Earth.
pub fn required_motion(view: &View, focal_length_m: f64, height_m: f64) -> Option<RequiredMotion> {
    let ground = view.ground_at(focal_length_m, 0.0, 0.0, height_m)?;
    let image = view.image_of(focal_length_m, &ground.earth_fixed_m)?;
    let still = image.velocity_m_s(view.orbital_rate_rad_s());
    let film_speed_m_s = still.norm();
    Some(RequiredMotion {
        film_speed_m_s,
        yaw_to_align_rad: yaw_to_align_rad(&still),
        v_over_h_rad_s: film_speed_m_s / focal_length_m,
        v_over_h_inertial_rad_s: image.translation_m_s.norm() / focal_length_m,
        slant_range_m: ground.slant_range_m,
    })
}

/// Yaw about +z that turns an image velocity into the film's direction, −x, rad.
pub fn yaw_to_align_rad(image_velocity_m_s: &Vector2<f64>) -> f64 {
    (-image_velocity_m_s.y).atan2(-image_velocity_m_s.x)
}

/// Image velocity less the film's velocity `(−v, 0)` at an image point and instant, m/s. `None` if the
/// line of sight misses the Earth.
pub fn drift_m_s(
    view: &View,
    focal_length_m: f64,
    (x_m, y_m): (f64, f64),
    height_m: f64,
    film_speed_m_s: f64,
) -> Option<Vector2<f64>> {
    let ground = view.ground_at(focal_length_m, x_m, y_m, height_m)?;
    let image = view.image_of(focal_length_m, &ground.earth_fixed_m)?;
    Some(image.velocity_m_s(view.rate_rad_s()) + Vector2::new(film_speed_m_s, 0.0))
}
