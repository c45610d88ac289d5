//! Prints the digests of this build, in the form of `digest.txt`.

use stillframe_golden::{digest, settings::Camera};

fn main() {
    for camera in Camera::ALL {
        match digest(camera) {
            Some(digest) => println!("{} {digest:016x}", camera.name()),
            None => println!("{} refused", camera.name()),
        }
    }
}
