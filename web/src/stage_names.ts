/** The stages as the trade says them. */

const NAMES: Record<string, string> = {
  PLANNED: "Planned",
  DRYPULL: "Dry pull",
  PREHEAT: "Preheat",
  SOAK: "Soak",
  COOLDOWN: "Cool-down",
  COAT: "Coat",
  BAG: "Bag",
  PULLDOWN: "Pump-down",
  HOLD: "Hold",
  FLASHOFF: "Flash-off",
  FINISHED: "Finished",
  STOPPED: "Stopped",
  INTERRUPTED: "Interrupted",
};

const FORMS: Record<string, string> = { "LET UP": "let up", UNBAGGED: "no bag" };

export function stageName(stage: string, form: string | null = null): string {
  const name = NAMES[stage] ?? stage;
  const how = form === null ? undefined : FORMS[form];
  return how ? `${name}, ${how}` : name;
}
