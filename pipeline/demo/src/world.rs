//! The world that is flown in: places, air, aircraft types.

pub(crate) mod airports;
pub(crate) mod atmosphere;
pub(crate) mod earth;
pub(crate) mod places;
pub(crate) mod types;
pub(crate) mod wind;
