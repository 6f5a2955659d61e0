/** The API's shapes by name, all of them from the generated types. */
import type { components } from "./types";

type Schemas = components["schemas"];

export type AdviceOut = Schemas["AdviceOut"];
export type ShelfOut = Schemas["ShelfOut"];
export type ShelvedBoat = Schemas["ShelvedBoat"];
export type BoatState = Schemas["BoatState"];
export type Edit = Schemas["Edit"];
export type Op = Edit["ops"][number];
export type Put = Schemas["Put"];
export type Drop = Schemas["Drop"];
export type AddRow = Schemas["AddRow"];
export type CopyRow = Schemas["CopyRow"];
export type MoveRow = Schemas["MoveRow"];
export type Shift = Schemas["Shift"];
export type Step = Schemas["Step"];
export type DifferenceOut = Schemas["DifferenceOut"];
export type DatumOut = Schemas["DatumOut"];
export type Tankful = Schemas["Tankful"];

export type Shown = Schemas["Shown"];
export type Verdict = Schemas["GlanceRow"]["verdict"];
export type GlanceRow = Schemas["GlanceRow"];
export type GlanceOut = Schemas["GlanceOut"];
export type LieOut = Schemas["LieOut"];
export type Line = Schemas["Line"];

export type AirOut = Schemas["AirOut"];
export type LeakAsk = Schemas["LeakAsk"];
export type LeakOut = Schemas["LeakOut"];
export type LeakTable = Schemas["LeakTable"];
export type LeakViewOut = Schemas["LeakViewOut"];
export type AirPocketOut = Schemas["AirPocketOut"];
export type VentOut = Schemas["VentOut"];
export type VentsOut = Schemas["VentsOut"];

export type SqueezeOut = Schemas["SqueezeOut"];
export type SqueezeAsk = Schemas["SqueezeAsk"];
export type SqueezeChart = Schemas["SqueezeChart"];
export type SqueezeTable = Schemas["SqueezeTable"];
export type CompareOut = Schemas["CompareOut"];
export type CompareView = Schemas["CompareView"];

export type HeelAsk = Schemas["HeelAsk"];
export type HeelOut = Schemas["HeelOut"];
export type HeelStateOut = Schemas["HeelStateOut"];
export type HeelCauseOut = Schemas["HeelCauseOut"];
export type CriteriaOut = Schemas["CriteriaOut"];
export type CriterionOut = Schemas["CriterionOut"];
export type CureCard = Schemas["CureCard"];
export type CureOut = Schemas["CureOut"];
export type LimitsAsk = Schemas["LimitsAsk"];
export type StabilityAsk = Schemas["StabilityAsk"];
export type StabilityOut = Schemas["StabilityOut"];
export type MomentOut = Schemas["MomentOut"];
export type ArmsOut = Schemas["ArmsOut"];
export type DiveEventOut = Schemas["EventOut"];
export type DiveOut = Schemas["DiveOut"];
export type FrameOut = Schemas["FrameOut"];

export type Ask = Schemas["Ask"];
export type Change = Schemas["Change"];
export type Answer = Schemas["Answer"];
export type Refused = Schemas["Refused"];
export type Changed = Schemas["Changed"];
export type JobTold = Schemas["JobTold"];
export type Told = Schemas["Told"];
export type Mesh = Schemas["Mesh"];
export type TankWaterOut = Schemas["TankWaterOut"];

export type SceneOut = Schemas["SceneOut"];
export type Body = Schemas["Body"];
export type Dimension = Schemas["Dimension"];
export type Outlines = Schemas["Outlines"];

export type JobOut = Schemas["JobOut"];
export type WeightsOut = Schemas["WeightsOut"];
export type WeightRow = Schemas["WeightRow"];
export type Cell = Schemas["Cell"];
export type PastedOut = Schemas["PastedOut"];
export type TankOut = Schemas["TankOut"];
export type Proposal = Schemas["Proposal"];
export type TrimOut = Schemas["TrimOut"];
export type TrimAsk = Schemas["TrimAsk"];
export type PieceOut = Schemas["PieceOut"];
export type StateCompare = Schemas["StateCompare"];
export type SpaceOut = Schemas["SpaceOut"];
export type FoundOut = Schemas["FoundOut"];
export type SplitOut = Schemas["SplitOut"];
export type SplitAsk = Schemas["SplitAsk"];
export type HullOut = Schemas["HullOut"];
export type CheckOut = Schemas["CheckOut"];
export type UploadOut = Schemas["UploadOut"];
export type LookOut = Schemas["LookOut"];
export type RepairOut = Schemas["RepairOut"];
export type NewBoat = Schemas["NewBoat"];
export type StarterPart = Schemas["StarterPart"];
export type PrintsOut = Schemas["PrintsOut"];
export type PrintsIn = Schemas["PrintsIn"];
export type BandOut = Schemas["BandOut"];
export type ThinOut = Schemas["ThinOut"];
export type FormsOut = Schemas["FormsOut"];
export type MeasuresTable = Schemas["MeasuresTable"];
export type MeasuresStart = Schemas["MeasuresStart"];
export type MeasuresOut = Schemas["MeasuresOut"];
export type ScaleOut = Schemas["ScaleOut"];

export type MeOut = Schemas["MeOut"];
export type PairingOut = Schemas["PairingOut"];
export type Device = Schemas["Device"];

export type TraceOut = Schemas["TraceOut"];
export type PictureOut = Schemas["PictureOut"];
export type CurveDrawn = Schemas["CurveDrawn"];
export type PlanOut = Schemas["PlanOut"];
export type TraceFigures = Schemas["TraceFigures"];
export type TracedShell = Schemas["TracedShell"];
export type FitAsk = Schemas["FitAsk"];
export type FitOut = Schemas["FitOut"];
export type PairOut = Schemas["PairOut"];
export type SlideAsk = Schemas["SlideAsk"];
export type SlideOut = Schemas["SlideOut"];
export type HindranceOut = Schemas["HindranceOut"];
export type CylinderAsk = Schemas["CylinderAsk"];
export type CylinderOut = Schemas["CylinderOut"];
export type DrainOut = Schemas["DrainOut"];
export type DrainCure = Schemas["DrainCure"];
