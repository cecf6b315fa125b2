use super::*;

#[test]
fn names_of_columns_that_identify_are_recognised_however_they_are_written() {
    for (identity, columns) in [
        (
            Identity::Person,
            "CAPT_NAME captain captainName crew_id PIC FirstOfficer FO_NAME surname \
             pilot2 crewid PF_CODE Name CPT-ID last_name crew_hash",
        ),
        (
            Identity::StaffNumber,
            "staff_no employeeId LICENCE crew_licence_number staffid",
        ),
        (Identity::Callsign, "CALLSIGN call_sign atc_callsign"),
        (
            Identity::Registration,
            "REG tail_number TAIL tailno AC_REG registration MSN aircraft_id serial_no icao24",
        ),
        (
            Identity::FlightNumber,
            "FLT_NO flightNumber flightno flight_num FLIGHT_DESIGNATOR",
        ),
        (
            Identity::Date,
            "DATE flight_date UTC_DATE DayOfMonth departure_date date_of_birth DATETIME",
        ),
    ] {
        for column in columns.split_whitespace() {
            assert_eq!(by_name(column), Some(identity), "{column}");
        }
    }
}

#[test]
fn names_of_measurements_are_left_alone() {
    let columns = "ALT_CAPT CAPT_FD_ON ROLL_CMD_FO stick_pitch_capt tailwind TAIL_TANK_QTY \
                   tail_strike VOLT_REG region FLT_PHASE flight_mode DAYLIGHT day_night PF PM \
                   airport_name AIRPORT_ID file_name nav_ident ILS_CODE CAS_KT time_s UTC \
                   PILOT_PITCH_INPUT crew_oxygen_psi day_of_week month REG_PRESS GEAR_UP FLT \
                   landing_gear_down month_year licence_plate_lamp number";
    for column in columns.split_whitespace() {
        assert_eq!(by_name(column), None, "{column}");
    }
}
