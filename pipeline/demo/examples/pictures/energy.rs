//! Energy height against the planning line flown at the planned speed: what has to be lost.

use crate::fault::Fault;
use crate::fleet::flown::Flown;
use crate::panel::{LEFT_PX, Panel, RIGHT_PX};
use crate::picture::series;
use crate::sheet::{INK, MID, OVER, Sheet, Side, UNDER};

/// Draws the panel.
pub(crate) fn draw(sheet: &Sheet<'_>, place: (f64, f64), flown: &Flown<'_>) -> Result<(), Fault> {
    let panel = Panel::new(sheet, place, (-2000.0, 3000.0));
    panel.frame(
        "Energy height over the planning line flown at the planned speed, ft; thin: the height’s share of it",
        &[-2000.0, -1000.0, 0.0, 1000.0, 2000.0, 3000.0],
    )?;
    let inside = || flown.approach().filter(|moment| moment.to_go_nm >= 0.0);
    let excess = series(inside(), |moment| flown.energy_excess_ft(moment));
    panel.filled(&excess, 0.0, OVER, UNDER)?;
    let zero = panel.up_px(0.0);
    sheet.stroke(&[(LEFT_PX, zero), (RIGHT_PX, zero)], MID, 0.75)?;
    let high = series(inside(), |moment| {
        moment.height_ft - flown.planning_ft(moment.to_go_nm)
    });
    panel.line(&high, MID, 1.0)?;
    panel.line(&excess, INK, 1.75)?;
    panel
        .sheet
        .text((RIGHT_PX + 6.0, zero), Side::Left, 11.0, MID, "as planned")
}
