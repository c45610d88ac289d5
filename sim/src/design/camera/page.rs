//! placeholder
use super::{study::Study, wants::Wants};
/// x
pub fn render(_: &Wants, _: &Study, _: &super::summary::SizingSummary) -> String {
    String::new()
}
