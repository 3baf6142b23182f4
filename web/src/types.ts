/** Short names for what the service sends; the shapes are generated into schema.ts from its API. */

import type { components } from "./schema.ts";

type Schemas = components["schemas"];

/** The shape of the snapshot this page was written for. */
export const KNOWN_VERSION = 1;

export type AlarmShown = Schemas["AlarmShown"];
export type Answer = Schemas["AnswerTold"];
export type ActTold = Schemas["ActTold"];
export type BagShown = Schemas["BagShown"];
export type BatchShown = Schemas["BatchShown"];
/** One message of the stream. */
export type Frame = Schemas["Frame"];
export type FieldTold = Schemas["FieldTold"];
export type GroupTold = Schemas["GroupTold"];
export type HeatShown = Schemas["HeatShown"];
export type LineTold = Schemas["LineTold"];
export type Me = Schemas["Me"];
export type OutputShown = Schemas["OutputShown"];
export type Pairings = Schemas["Pairings"];
export type PairingTold = Schemas["PairingTold"];
export type PlanTold = Schemas["PlanTold"];
export type Press = Schemas["Press"];
export type Samples = Schemas["Samples"];
export type SectionTold = Schemas["SectionTold"];
export type Sentence = Schemas["Sentence"];
export type SettingShown = Schemas["SettingShown"];
export type SheetAnswer = Schemas["SheetAnswer"];
export type SheetStart = Schemas["SheetStart"];
export type Shown = Schemas["Shown"];
export type Snapshot = Schemas["Snapshot"];
export type StageTold = Schemas["StageTold"];
export type Trouble = Schemas["Trouble"];
export type WholeBatch = Schemas["WholeBatch"];
