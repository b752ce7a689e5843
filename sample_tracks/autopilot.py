"""An airframe of JSBSim's wheel under an autopilot that holds a bank, a height and an airspeed."""

import math
from dataclasses import dataclass

import jsbsim

__all__ = ["FT", "GRAVITY", "KT", "NM", "TICK_S", "Autopilot", "Orders", "State"]

NM = 1852.0  # metres in a nautical mile
FT = 0.3048  # metres in a foot
KT = NM / 3600.0  # metres a second in a knot
GRAVITY = 9.80665  # standard gravity [m/s²]

TICK_S = 0.2  # one call of Autopilot.advance
STEP_S = 1.0 / 60.0  # of JSBSim
STEPS_A_CONTROL = 2  # the controls are moved at 30 Hz
CONTROLS_A_TICK = 6
WIND_RAMP_S = 30.0  # the airframe is launched in still air; the wind then comes up over this time

ROLL_RATE_DEG_S = 5.0  # of the bank that the autopilot asks for
ROLL_ACCELERATION_DEG_S2 = 8.0
VERTICAL_ACCELERATION_FPM_S = 150.0
AIRSPEED_CHANGE_KT_S = 0.7


@dataclass(frozen=True)
class Airframe:
    """How one airframe answers its controls, found by a small step of each from steady flight.

    `roll` and `pitch` are steady degrees a second for full aileron and elevator at `reference_kt`; `throttle` is the
    throttle for one knot of airspeed error, `climb` for one foot a minute of climb.
    """

    reference_kt: float
    roll: float
    pitch: float
    throttle: float
    climb: float


AIRFRAMES = {
    "c172p": Airframe(reference_kt=95.0, roll=55.0, pitch=40.0, throttle=0.03, climb=3e-4),
    "pa28": Airframe(reference_kt=100.0, roll=33.0, pitch=18.0, throttle=0.03, climb=3e-4),
    "t6texan2": Airframe(reference_kt=150.0, roll=125.0, pitch=45.0, throttle=0.02, climb=2e-4),
}


@dataclass(frozen=True)
class State:
    """The aircraft at one instant. Angles in degrees, true; bank positive to the right; wind is where the air moves to."""

    time_s: float
    latitude_deg: float
    longitude_deg: float
    altitude_ft: float
    bank_deg: float
    heading_deg: float
    track_deg: float
    ground_speed_kt: float
    true_airspeed_kt: float
    calibrated_airspeed_kt: float
    wind_to_north_kt: float
    wind_to_east_kt: float


@dataclass(frozen=True)
class Orders:
    """What the autopilot is to hold. `vertical_fpm` is the most it may climb or descend on the way to the altitude."""

    bank_deg: float
    altitude_ft: float
    vertical_fpm: float
    airspeed_kt: float


class Autopilot:
    """One airframe in flight, launched level in still air and then given a steady wind; it takes a minute to settle.

    Bank follows a reference of limited roll rate; height is flown through the load factor, which holds height in turns too;
    the rudder keeps sideslip at nought; the throttle keeps the airspeed.
    """

    def __init__(self, airframe: str, start: tuple[float, float, float], orders: Orders, wind_kt: tuple[float, float]) -> None:
        self._answer = AIRFRAMES[airframe]
        self._wind_kt = wind_kt
        self._fdm = _launched(airframe, start, orders)
        self._steps = 0
        self._bank_deg = self._bank_rate = 0.0  # the reference, in degrees and degrees a second
        self._vertical_fpm = 0.0
        self._airspeed_kt = orders.airspeed_kt
        self._aileron, self._elevator, self._rudder, self._throttle = (
            self._fdm[f"fcs/{name}-cmd-norm"] for name in ("aileron", "elevator", "rudder", "throttle")
        )

    def state(self) -> State:
        """The aircraft now."""
        get = self._fdm.get_property_value
        north, east = get("velocities/v-north-fps"), get("velocities/v-east-fps")
        return State(
            time_s=self._steps * STEP_S,
            latitude_deg=get("position/lat-geod-deg"),
            longitude_deg=get("position/long-gc-deg"),
            altitude_ft=get("position/h-sl-ft"),
            bank_deg=get("attitude/phi-deg"),
            heading_deg=get("attitude/psi-deg"),
            track_deg=math.degrees(math.atan2(east, north)) % 360.0,
            ground_speed_kt=math.hypot(north, east) * FT / KT,
            true_airspeed_kt=get("velocities/vt-fps") * FT / KT,
            calibrated_airspeed_kt=get("velocities/vc-kts"),
            wind_to_north_kt=get("atmosphere/total-wind-north-fps") * FT / KT,
            wind_to_east_kt=get("atmosphere/total-wind-east-fps") * FT / KT,
        )

    def advance(self, orders: Orders) -> State:
        """Fly for one tick under the orders."""
        risen = min(1.0, self._steps * STEP_S / WIND_RAMP_S)
        self._fdm["atmosphere/wind-north-fps"] = risen * self._wind_kt[0] * KT / FT
        self._fdm["atmosphere/wind-east-fps"] = risen * self._wind_kt[1] * KT / FT
        for _ in range(CONTROLS_A_TICK):
            self._control(orders, STEPS_A_CONTROL * STEP_S)
            for _ in range(STEPS_A_CONTROL):
                self._fdm.run()
            self._steps += STEPS_A_CONTROL
        return self.state()

    def _control(self, orders: Orders, dt: float) -> None:
        airspeed = max(self._fdm["velocities/vc-kts"], 40.0)
        softness = self._answer.reference_kt / airspeed  # control power grows with speed
        self._roll(orders.bank_deg, softness / self._answer.roll, dt)
        self._pitch(orders, softness / self._answer.pitch, dt)
        self._yaw(softness, dt)
        self._speed(orders.airspeed_kt, dt)

    def _yaw(self, softness: float, dt: float) -> None:
        slip = self._fdm["aero/beta-deg"]
        rate = math.degrees(
            GRAVITY * math.sin(math.radians(self._fdm["attitude/phi-deg"])) / (self._fdm["velocities/vt-fps"] * FT)
        )
        excess = math.degrees(self._fdm["velocities/r-rad_sec"]) - rate  # beyond that of the turn: damps the Dutch roll
        self._rudder = _clip(self._rudder - 0.04 * softness * slip * dt, 0.5)
        self._fdm["fcs/rudder-cmd-norm"] = _clip(self._rudder + softness * (0.02 * excess - 0.02 * slip), 1.0)

    def _speed(self, airspeed_kt: float, dt: float) -> None:
        self._airspeed_kt += _clip(airspeed_kt - self._airspeed_kt, AIRSPEED_CHANGE_KT_S * dt)
        short = self._airspeed_kt - self._fdm["velocities/vc-kts"]
        wanted = self._throttle + self._answer.throttle * short + self._answer.climb * self._vertical_fpm
        given = min(1.0, max(0.0, wanted))
        if given == wanted:  # at a stop the integral would only run away
            self._throttle += 0.1 * self._answer.throttle * short * dt
        self._fdm["fcs/throttle-cmd-norm"] = given

    def _roll(self, bank_deg: float, aileron_a_degree: float, dt: float) -> None:
        wanted = _clip((bank_deg - self._bank_deg) / 0.8, ROLL_RATE_DEG_S)
        self._bank_rate += _clip(wanted - self._bank_rate, ROLL_ACCELERATION_DEG_S2 * dt)
        self._bank_deg += self._bank_rate * dt
        rate = self._bank_rate + 1.2 * (self._bank_deg - self._fdm["attitude/phi-deg"])
        miss = rate - math.degrees(self._fdm["velocities/p-rad_sec"])
        self._aileron = _clip(self._aileron + 0.6 * aileron_a_degree * miss * dt, 0.7)
        self._fdm["fcs/aileron-cmd-norm"] = _clip(self._aileron + aileron_a_degree * (rate + 0.6 * miss), 1.0)

    def _pitch(self, orders: Orders, elevator_a_degree: float, dt: float) -> None:
        wanted = _clip(6.0 * (orders.altitude_ft - self._fdm["position/h-sl-ft"]), orders.vertical_fpm)
        self._vertical_fpm += _clip(wanted - self._vertical_fpm, VERTICAL_ACCELERATION_FPM_S * dt)
        short_mps = self._vertical_fpm * FT / 60.0 - self._fdm["velocities/h-dot-fps"] * FT
        cosine = math.cos(math.radians(self._fdm["attitude/phi-deg"]))
        # Load factor of the level turn, and what brings the vertical speed in within about four seconds.
        load = 1.0 / max(cosine, 0.5) + short_mps / (4.0 * GRAVITY)
        rate = math.degrees(GRAVITY * (load - cosine) / (self._fdm["velocities/vt-fps"] * FT))
        miss = rate - math.degrees(self._fdm["velocities/q-rad_sec"])
        self._elevator = _clip(self._elevator - 1.2 * elevator_a_degree * miss * dt, 0.8)
        self._fdm["fcs/elevator-cmd-norm"] = _clip(self._elevator - elevator_a_degree * (0.5 * rate + miss), 1.0)


def _launched(airframe: str, start: tuple[float, float, float], orders: Orders) -> jsbsim.FGFDMExec:
    """The airframe, set level at (latitude, longitude, heading) in degrees and at the height and speed ordered."""
    jsbsim.FGJSBBase().debug_lvl = 0  # before the simulator is made, which greets otherwise
    fdm = jsbsim.FGFDMExec(None)
    fdm.load_model(airframe)
    fdm.disable_output()  # some models write a log of their own
    fdm.set_dt(STEP_S)
    fdm["ic/lat-geod-deg"], fdm["ic/long-gc-deg"], fdm["ic/psi-true-deg"] = start
    fdm["ic/h-sl-ft"] = orders.altitude_ft
    fdm["ic/vc-kts"] = orders.airspeed_kt
    fdm.run_ic()
    fdm["propulsion/set-running"] = -1
    fdm["gear/gear-cmd-norm"] = fdm["gear/gear-pos-norm"] = 0.0
    fdm["fcs/mixture-cmd-norm"] = 1.0  # older versions start lean to the point of no power
    fdm["fcs/throttle-cmd-norm"] = 0.6
    return fdm


def _clip(value: float, limit: float) -> float:
    return max(-limit, min(limit, value))
