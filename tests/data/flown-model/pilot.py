"""A plain autopilot: a rate loop in each axis, path and speed above it, a schedule of flaps and gear."""

import math

import ground

G = 32.174
# Lever positions as shares of the model's full flap; 40 degrees are full.
LEVERS = [0.0, 0.125, 0.375, 0.625, 1.0]
# What makes the aircraft of these aerodynamics bounce, found by trying.
BOUNCE_SINK_FPS, BOUNCE_PITCH, BOUNCE_THROTTLE = 11.0, math.radians(6.0), 0.45


def clip(value, low, high):
    return max(low, min(high, value))


def wrap(angle):
    return (angle + math.pi) % (2 * math.pi) - math.pi


class Pilot:
    """Flies legs to a runway, lands, goes round or takes off again, as its plan says."""

    def __init__(self, fdm, runway, plan):
        self.fdm, self.runway = fdm, runway
        # What each approach ends in: "land", "bounce", "touch", "reject", or the height a go-around begins at.
        self.plan = list(plan["ends"])
        self.level_ft = plan["level_ft"]
        self.phase, self.leg = "approach", "final"
        self.lever, self.gear = 0, 0
        self.target_kt = plan["start_kt"]
        self.asked_kt = self.target_kt
        self.pitch_sum = self.thrust_sum = 0.0
        self.throttle = 0.3
        self.captured = False
        self.since = 0.0
        self.marks = []  # (time, what) of the pilot's own decisions

    # --- what is flown -------------------------------------------------------------------------

    def step(self, s, dt):
        """One step: `s` is the state of the simulator."""
        if self.phase == "approach":
            self.configure(s)
            self.approach(s, dt)
        elif self.phase == "bounce":
            self.bounce(s, dt)
        elif self.phase == "roll":
            self.roll(s, dt)
        else:
            self.climb(s, dt)
        self.send(s)

    def configure(self, s):
        """Flaps, gear and speed by distance along the flown path that is left, roughly."""
        left_nm = self.left_nm(s)
        steps = [(16.0, 1, 0, 200.0), (11.5, 2, 0, 175.0), (7.5, 3, 1, 160.0), (5.6, 4, 1, 140.0)]
        for nm, lever, gear, kt in steps:
            if left_nm <= nm and lever > self.lever:
                self.lever, self.gear, self.asked_kt = lever, gear, kt

    def left_nm(self, s):
        to_go = -s["ahead_ft"] / 6076.1
        if self.leg == "final":
            return to_go
        aside = abs(s["right_ft"]) / 6076.1
        return {"base": aside + 6.5, "downwind": aside + 6.5 + max(0.0, 6.5 - to_go)}.get(self.leg, 30.0)

    def approach(self, s, dt):
        self.turn_legs(s)
        antenna_ft = self.runway.crossing_ft / math.tan(math.radians(3.0))
        path_ft = (antenna_ft - s["ahead_ft"]) * math.tan(math.radians(3.0))
        if self.leg == "final" and not self.captured and s["up_ft"] > path_ft - 40.0:
            self.captured = True
        decrab = None
        if self.captured and s["wheels_ft"] < 50.0:
            sink = 0.215 * max(s["wheels_ft"], 0.0) + 2.0
            if self.plan[0] == "bounce":
                sink = max(sink, BOUNCE_SINK_FPS)
            gain, climb = 1.4, -min(sink, s["speed_fps"] * math.tan(math.radians(3.2)))
            decrab = True
        elif self.captured:
            gain = 0.6
            climb = -s["closing_fps"] * math.tan(math.radians(3.0)) + 0.15 * (path_ft - s["up_ft"])
        else:
            gain, climb = 0.6, clip(0.12 * (self.level_ft - s["height_ft"]), -25.0, 25.0)
        self.pitch_to_climb(s, climb, gain, dt)
        self.bank_to_leg(s)
        self.rudder = clip(3.0 * wrap(s["psi"] - self.course()), -0.8, 0.8) if decrab else 0.0
        if self.captured and s["wheels_ft"] < 25.0:
            self.throttle = max(0.0, self.throttle - 0.25 * dt)
        else:
            self.hold_speed(s, dt)
        from_ft = self.plan[0] if isinstance(self.plan[0], float) else None
        if from_ft is not None and self.captured and s["wheels_ft"] <= from_ft:
            self.go(s, "go_around")
        if s["main_wheels"]:
            self.mark(s, "wheels")
            self.phase, self.since = "bounce" if self.plan[0] == "bounce" else "roll", s["time_s"]

    def bounce(self, s, dt):
        """Nose up and a little thrust at the first contact, which lifts the aircraft off again; then a flare."""
        self.aloft = self.aloft or s["wheels_ft"] > 4.0
        if not self.aloft:
            self.hold_pitch(s, BOUNCE_PITCH, dt, fastest=math.radians(6.0))
            self.throttle = BOUNCE_THROTTLE
        else:
            sink = 0.3 * max(s["wheels_ft"], 0.0) + 2.5
            self.pitch_to_climb(s, -min(sink, 8.0), 1.4, dt)
            self.throttle = max(0.0, self.throttle - (0.25 if s["wheels_ft"] < 3.0 else 0.0) * dt)
        self.bank_to_leg(s)
        if self.aloft and s["main_wheels"]:
            self.phase, self.since = "roll", s["time_s"]

    def roll(self, s, dt):
        rolled_s = s["time_s"] - self.since
        self.hold_pitch(s, 0.0, dt, fastest=math.radians(2.5))
        self.aileron = clip(-2.0 * s["phi"] - 1.0 * s["p"], -1.0, 1.0)
        track = clip(-0.0006 * s["right_ft"], -0.1, 0.1)
        error = wrap(self.course() + track - s["psi"])
        self.rudder = clip(-3.0 * error + 2.0 * s["r"], -1.0, 1.0)
        self.steer = clip(1.2 * error - 1.0 * s["r"], -0.3, 0.3)
        self.throttle = max(0.0, self.throttle - 0.5 * dt)
        leaves_after_s = {"touch": 6.0, "reject": 1.0}.get(self.plan[0])
        self.spoiler, self.brake = (0.0, 0.0) if leaves_after_s else (1.0, 0.35 if rolled_s > 2 else 0.0)
        if leaves_after_s and rolled_s > leaves_after_s:
            self.go(s, "take_off")

    def go(self, s, what):
        self.mark(s, what)
        self.phase, self.since, self.lever = "climb", s["time_s"], 2
        self.asked_kt = self.target_kt = 170.0
        self.low_start = s["main_wheels"]
        self.full_to_ft = max(900.0, s["wheels_ft"] + 400.0)
        self.captured = False

    def climb(self, s, dt):
        """Full thrust and twelve degrees, then up to the level of the circuit, then the legs."""
        self.steer = self.spoiler = self.brake = 0.0
        high = s["wheels_ft"] > self.full_to_ft
        rolling = self.low_start and s["main_wheels"]
        if high:
            self.pitch_to_climb(s, clip(0.12 * (self.circuit_ft() - s["height_ft"]), -25.0, 30.0), 0.5, dt)
            self.hold_speed(s, dt)
            self.asked_kt = 200.0
            self.lever = 1 if s["cas_kt"] > 180.0 else 2
        else:
            lift = math.radians(12.0) if not rolling or s["cas_kt"] > 138.0 else 0.0
            self.hold_pitch(s, lift, dt, fastest=math.radians(3.0))
            self.throttle = min(0.95, self.throttle + 0.5 * dt)
            self.thrust_sum = 0.5
            self.target_kt = s["cas_kt"]
        if rolling:
            self.roll_straight(s)
        else:
            self.rudder = 0.0
            self.bank_to_leg(s)
        if s["wheels_ft"] > 150.0 and s["climb_fps"] > 5.0:
            self.gear = 0
        if high and s["ahead_ft"] > 1.0 * 6076.1 and s["height_ft"] > self.circuit_ft() - 300.0:
            self.plan.pop(0)
            self.level_ft = self.circuit_ft()
            self.phase, self.leg = "approach", "crosswind"

    def roll_straight(self, s):
        error = wrap(self.course() - s["psi"])
        self.rudder = clip(-3.0 * error + 2.0 * s["r"], -1.0, 1.0)
        self.steer = clip(1.0 * error - 1.0 * s["r"], -0.2, 0.2)
        self.aileron = clip(-2.0 * s["phi"] - 1.0 * s["p"], -1.0, 1.0)

    def circuit_ft(self):
        return 2000.0

    def turn_legs(self, s):
        if self.leg == "crosswind" and s["right_ft"] < -3.6 * 6076.1:
            self.leg = "downwind"
        elif self.leg == "downwind" and s["ahead_ft"] < -6.6 * 6076.1:
            self.leg = "base"
        elif self.leg == "base" and s["right_ft"] > -1.2 * 6076.1:
            self.leg = "final"

    # --- loops ---------------------------------------------------------------------------------

    def course(self):
        return math.radians(self.runway.bearing_deg)

    def bank_to_leg(self, s):
        """The course of the leg, corrected for the distance from it; bank for the course."""
        turn, aside_ft = {
            "final": (0.0, s["right_ft"]),
            "crosswind": (-90.0, 0.0),
            "downwind": (180.0, -(s["right_ft"] + 5.0 * 6076.1)),
            "base": (90.0, 0.0),
        }[self.leg]
        wanted = self.course() + math.radians(turn) - clip(0.00025 * aside_ft, -0.52, 0.52)
        error = wrap(wanted - s["track"])
        limit = 0.08 if s["wheels_ft"] < 60.0 else 0.44
        bank = clip(1.7 * error, -limit, limit)
        rate = clip(0.9 * (bank - s["phi"]), -0.12, 0.12)
        self.aileron = clip(2.5 * (rate - s["p"]), -1.0, 1.0)

    def pitch_to_climb(self, s, climb_fps, gain, dt):
        wanted = math.asin(clip(climb_fps / s["speed_fps"], -0.2, 0.2))
        self.rate_pitch(s, clip(gain * (wanted - s["gamma"]), -0.04, 0.04), dt)

    def hold_pitch(self, s, theta, dt, fastest):
        self.rate_pitch(s, clip(0.6 * (theta - s["theta"]), -fastest, fastest), dt)

    def rate_pitch(self, s, rate, dt):
        turning = G * math.tan(s["phi"]) * math.sin(s["phi"]) / s["speed_fps"]
        error = rate + turning - s["q"]
        self.pitch_sum = clip(self.pitch_sum + 4.0 * error * dt, -1.0, 1.0)
        self.elevator = clip(-(4.0 * error + self.pitch_sum), -1.0, 1.0)

    def hold_speed(self, s, dt):
        """Thrust for a target that changes by a knot a second."""
        self.target_kt += clip(self.asked_kt - self.target_kt, -1.0 * dt, 1.0 * dt)
        error = self.target_kt - s["cas_kt"]
        asked = 0.035 * error + self.thrust_sum - 0.06 * s["gain_kt_s"]
        if 0.0 < asked < 0.95 or (asked <= 0.0) == (error > 0.0):
            self.thrust_sum = clip(self.thrust_sum + 0.006 * error * dt, 0.0, 0.9)
        self.throttle += clip(clip(asked, 0.0, 0.95) - self.throttle, -0.3 * dt, 0.3 * dt)

    def mark(self, s, what):
        self.marks.append((s["time_s"], what))

    rudder = steer = spoiler = brake = aileron = elevator = 0.0
    low_start = aloft = False

    def send(self, s):
        f = self.fdm
        f["fcs/elevator-cmd-norm"] = self.elevator
        f["fcs/aileron-cmd-norm"] = self.aileron
        f["fcs/rudder-cmd-norm"] = self.rudder
        f["fcs/steer-cmd-norm"] = self.steer
        f["fcs/throttle-cmd-norm"] = self.throttle
        f["fcs/throttle-cmd-norm[1]"] = self.throttle
        f["fcs/flap-cmd-norm"] = LEVERS[self.lever]
        f["gear/gear-cmd-norm"] = float(self.gear)
        f["fcs/spoiler-cmd-norm"] = self.spoiler
        f["fcs/left-brake-cmd-norm"] = self.brake
        f["fcs/right-brake-cmd-norm"] = self.brake
