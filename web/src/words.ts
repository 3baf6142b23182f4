/** Figures in the words and units a person chose. Twin of controller/quantities.py: no DOM, no clock. */

/** The units one person reads in, and the shop's time zone (IANA name). */
export interface People {
  temperature: "C" | "F";
  vacuum: "inHg" | "kPa" | "mbar";
  mass: "g" | "oz";
  volume: "mL" | "fl oz";
  length: "mm" | "in";
  zone: string;
}

/** A figure in SI: K, Pa, Pa/s, s, kg, m3, a fraction, or seconds since 1970 UTC. Vacuum is Pa below the air. */
export interface Figure {
  kind: string;
  value: number;
}

/** Pa in an inch of mercury at 0 degC. */
export const PA_PER_INHG = 3386.388640341;
const KG_PER_OZ = 0.028349523125;
const M3_PER_FL_OZ = 2.95735295625e-5;
const M_PER_IN = 0.0254;
const M_PER_FT = 0.3048;
const M3_PER_FT3 = M_PER_FT * M_PER_FT * M_PER_FT;
const KG_PER_LB = 0.45359237;
export const ZERO_C = 273.15;

const DAY_S = 86400;
const WEEK_DAYS = 7;

/** Half away from zero, with this many digits; a minus sign only on what is not zero. */
function digits(value: number, places: number): string {
  const scale = 10 ** places;
  const rounded = Math.floor(Math.abs(value) * scale + 0.5) / scale;
  return (value < 0 && rounded !== 0 ? "-" : "") + rounded.toFixed(places);
}

/** "2 h 30 min", or "2 h" where the rest is nothing. */
function parts(count: number, each: number, large: string, small: string): string {
  const rest = count % each;
  return `${Math.floor(count / each)} ${large}${rest ? ` ${rest} ${small}` : ""}`;
}

/** To the second as long as a coat window may last, to the hour for flash-off. */
function duration(value: number): string {
  const count = (each: number) => Math.floor(Math.abs(value) / each + 0.5);
  const [seconds, minutes, hours] = [count(1), count(60), count(3600)];
  const sign = value < 0 && seconds > 0 ? "-" : "";
  if (seconds < 120) return `${sign}${seconds} s`;
  if (seconds < 600) return sign + parts(seconds, 60, "min", "s");
  if (minutes < 120) return `${sign}${minutes} min`;
  if (minutes < 48 * 60) return sign + parts(minutes, 60, "h", "min");
  return sign + parts(hours, 24, "days", "h");
}

interface Day {
  year: number;
  month: string;
  day: number;
  weekday: string;
  hour: string;
  minute: string;
  /** Days since 1970 by the local calendar. */
  count: number;
}

const MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");

function local(at: number, zone: string): Day {
  const parts = new Map(
    new Intl.DateTimeFormat("en-US", {
      timeZone: zone,
      hourCycle: "h23",
      weekday: "short",
      year: "numeric",
      month: "numeric",
      day: "numeric",
      hour: "2-digit",
      minute: "2-digit",
    })
      .formatToParts(new Date(Math.floor(at / 60) * 60000))
      .map((part) => [part.type, part.value]),
  );
  const year = Number(parts.get("year"));
  const month = Number(parts.get("month"));
  const day = Number(parts.get("day"));
  return {
    year,
    month: MONTHS[month - 1] ?? "",
    day,
    weekday: parts.get("weekday") ?? "",
    hour: parts.get("hour") ?? "",
    minute: parts.get("minute") ?? "",
    count: Date.UTC(year, month - 1, day) / (DAY_S * 1000),
  };
}

function clock(at: number, zone: string, now: number | null): string {
  const then = local(at, zone);
  const time = `${then.hour}:${then.minute}`;
  if (now === null) return `${then.weekday} ${time}`;
  const apart = Math.abs(then.count - local(now, zone).count);
  if (apart === 0) return time;
  if (apart < WEEK_DAYS) return `${then.weekday} ${time}`;
  return `${then.weekday} ${then.day} ${then.month} ${time}`;
}

/** With the decimals of the first step it is under; else with `rest` decimals. */
function scaled(value: number, steps: [number, number][], rest = 0): string {
  return digits(value, steps.find(([under]) => Math.abs(value) < under)?.[1] ?? rest);
}

const SMALL: [number, number][] = [[10, 1]];
const ounces = (count: number) => scaled(count, [[10, 2]], 1);

function volume(m3: number, unit: People["volume"]): string {
  if (unit === "fl oz") return `${ounces(m3 / M3_PER_FL_OZ)} fl oz`;
  const millilitres = m3 * 1e6;
  if (Math.abs(millilitres) >= 1000) return `${digits(millilitres / 1000, 1)} L`;
  return `${scaled(millilitres, SMALL)} mL`;
}

function length(m: number, unit: People["length"]): string {
  const far = Math.abs(m) >= 10;
  if (unit === "in") {
    return far ? `${digits(m / M_PER_FT, 0)} ft` : `${scaled(m / M_PER_IN, [[0.1, 3], [10, 2]], 1)} in`;
  }
  return far ? `${scaled(m, [[100, 1]])} m` : `${scaled(m * 1000, [[1, 2], [10, 1]])} mm`;
}

function air(m3: number, unit: People["volume"]): string {
  if (unit === "fl oz") return `${scaled(m3 / M3_PER_FT3, SMALL)} ft3`;
  return Math.abs(m3) >= 1 ? `${scaled(m3, [[100, 1]])} m3` : `${scaled(m3 * 1000, SMALL)} L`;
}

function flow(m3PerS: number): string {
  const millilitres = m3PerS * 60e6;
  if (Math.abs(millilitres) >= 1000) return `${digits(millilitres / 1000, 1)} L/min`;
  return `${scaled(millilitres, SMALL)} mL/min`;
}

function vacuum(pa: number, unit: People["vacuum"]): string {
  if (unit === "inHg") return `${digits(pa / PA_PER_INHG, 1)} inHg vacuum`;
  return unit === "kPa" ? `${digits(pa / 1000, 1)} kPa vacuum` : `${digits(pa / 100, 0)} mbar vacuum`;
}

/** One figure as text. `now` (seconds since 1970 UTC) decides how much of a date a clock needs. */
export function say(value: number, kind: string, units: People, now: number | null = null): string {
  if (!Number.isFinite(value)) throw new RangeError(`${kind} ${value} is no figure`);
  switch (kind) {
    case "temperature":
      return units.temperature === "C"
        ? `${digits(value - ZERO_C, 1)} °C`
        : `${digits((value - ZERO_C) * 1.8 + 32, 0)} °F`;
    case "temperature_difference":
      return units.temperature === "C" ? `${digits(value, 1)} °C` : `${digits(value * 1.8, 1)} °F`;
    case "vacuum":
      return vacuum(value, units.vacuum);
    case "pressure_abs":
      return units.vacuum === "mbar"
        ? `${digits(value / 100, 0)} mbar abs`
        : `${digits(value / 1000, 1)} kPa abs`;
    case "pressure_rate":
      return `${digits((value * 60) / 1000, 2)} kPa/min (${digits((value * 300) / PA_PER_INHG, 2)} inHg per 5 min)`;
    case "duration":
      return duration(value);
    case "mass":
      return units.mass === "oz" ? `${ounces(value / KG_PER_OZ)} oz` : `${scaled(value * 1000, [[100, 1]])} g`;
    case "volume":
      return volume(value, units.volume);
    case "percent":
      return `${digits(value * 100, 0)} %`;
    case "length":
      return length(value, units.length);
    case "viscosity":
      return Math.abs(value) >= 10 ? `${digits(value, 0)} Pa s` : `${scaled(value * 1000, SMALL)} mPa s`;
    case "coat_weight":
      return units.mass === "oz"
        ? `${digits((value / KG_PER_OZ) * M_PER_FT * M_PER_FT, 2)} oz/ft2`
        : `${digits(value * 1000, 0)} g/m2`;
    case "density":
      return units.mass === "oz"
        ? `${digits((value / KG_PER_LB) * M_PER_FT * M_PER_FT * M_PER_FT, 0)} lb/ft3`
        : `${digits(value, 0)} kg/m3`;
    case "flux":
      return `${digits(value, 0)} W/m2`;
    case "flow":
      return flow(value);
    case "speed":
      return units.volume === "fl oz"
        ? `${ounces((value * 60) / M3_PER_FT3)} cfm`
        : `${scaled(value * 60000, SMALL)} L/min`;
    case "air":
      return air(value, units.volume);
    case "count":
      return digits(value, 0);
    case "factor":
      return scaled(value, [[0.0995, 3], [0.995, 2], [9.95, 1]]);
    case "ratio":
      return `100 : ${scaled(value * 100, SMALL)}`;
    case "clock":
      return clock(value, units.zone, now);
    default:
      throw new RangeError(`no words for the kind ${kind}`);
  }
}

/** The sentence with its {named} gaps filled. Throws where a gap has no figure. */
export function fill(
  text: string,
  values: Readonly<Record<string, Figure>>,
  units: People,
  now: number | null = null,
): string {
  return text.replace(/\{([a-z][a-z0-9_]*)\}/g, (_, name: string) => {
    const figure = values[name];
    if (figure === undefined) throw new RangeError(`no figure for {${name}} in: ${text}`);
    return say(figure.value, figure.kind, units, now);
  });
}
