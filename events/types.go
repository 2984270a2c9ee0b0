package events

// Data is the body of an event: a pointer to one of the structs of this
// package. The list is closed: only this package can add to it.
type Data interface {
	// Type gives the wire name.
	Type() Type
	fact()
}

// Type is an event's name on the wire: noun.past-tense.
type Type string

// kinds is the closed list: what each wire name holds and its current version.
// An older version has a lift in upcasts.
var kinds = map[Type]struct {
	version int
	blank   func() Data
}{
	"floor.founded":           {2, func() Data { return new(FloorFounded) }},
	"item.registered":         {1, func() Data { return new(ItemRegistered) }},
	"item.revised":            {1, func() Data { return new(ItemRevised) }},
	"rulebook.published":      {1, func() Data { return new(RulebookPublished) }},
	"rulebook.blocked":        {1, func() Data { return new(RulebookBlocked) }},
	"badge.enrolled":          {1, func() Data { return new(BadgeEnrolled) }},
	"badge.retired":           {1, func() Data { return new(BadgeRetired) }},
	"recipe.cleared":          {1, func() Data { return new(RecipeCleared) }},
	"lot.announced":           {1, func() Data { return new(LotAnnounced) }},
	"lot.received":            {1, func() Data { return new(LotReceived) }},
	"lot.shortfall-noted":     {1, func() Data { return new(LotShortfallNoted) }},
	"lot.overage-noted":       {1, func() Data { return new(LotOverageNoted) }},
	"lot.corrected":           {1, func() Data { return new(LotCorrected) }},
	"tote.split":              {1, func() Data { return new(ToteSplit) }},
	"tote.cleared":            {1, func() Data { return new(ToteCleared) }},
	"tote.moved":              {1, func() Data { return new(ToteMoved) }},
	"units.triaged":           {1, func() Data { return new(UnitsTriaged) }},
	"units.held":              {1, func() Data { return new(UnitsHeld) }},
	"hold.released":           {1, func() Data { return new(HoldReleased) }},
	"units.diverted":          {1, func() Data { return new(UnitsDiverted) }},
	"units.returned-to-floor": {1, func() Data { return new(UnitsReturnedToFloor) }},
	"units.written-off":       {1, func() Data { return new(UnitsWrittenOff) }},
	"units.unaccounted":       {1, func() Data { return new(UnitsUnaccounted) }},
	"run.opened":              {1, func() Data { return new(RunOpened) }},
	"run.paused":              {1, func() Data { return new(RunPaused) }},
	"run.resumed":             {1, func() Data { return new(RunResumed) }},
	"run.handed-over":         {1, func() Data { return new(RunHandedOver) }},
	"run.closed":              {1, func() Data { return new(RunClosed) }},
	"labels.printed":          {1, func() Data { return new(LabelsPrinted) }},
	"labels.live":             {1, func() Data { return new(LabelsLive) }},
	"labels.spoiled":          {1, func() Data { return new(LabelsSpoiled) }},
	"mark.voided":             {1, func() Data { return new(MarkVoided) }},
	"unit.marked":             {1, func() Data { return new(UnitMarked) }},
	"material.drawn":          {1, func() Data { return new(MaterialDrawn) }},
	"material.swapped":        {1, func() Data { return new(MaterialSwapped) }},
	"step.checked":            {1, func() Data { return new(StepChecked) }},
	"units.prepped":           {1, func() Data { return new(UnitsPrepped) }},
	"unit.spoiled":            {1, func() Data { return new(UnitSpoiled) }},
	"bundle.built":            {1, func() Data { return new(BundleBuilt) }},
	"carton.opened":           {1, func() Data { return new(CartonOpened) }},
	"unit.placed":             {1, func() Data { return new(UnitPlaced) }},
	"unit.taken-out":          {1, func() Data { return new(UnitTakenOut) }},
	"carton.finished":         {1, func() Data { return new(CartonFinished) }},
	"carton.weighed":          {1, func() Data { return new(CartonWeighed) }},
	"count.entered":           {1, func() Data { return new(CountEntered) }},
	"count.accepted":          {1, func() Data { return new(CountAccepted) }},
	"count.voided":            {1, func() Data { return new(CountVoided) }},
	"carton.sealed":           {1, func() Data { return new(CartonSealed) }},
	"carton.reopened":         {1, func() Data { return new(CartonReopened) }},
	"carton.voided":           {1, func() Data { return new(CartonVoided) }},
	"carton.handed-over":      {1, func() Data { return new(CartonHandedOver) }},
	"load.opened":             {1, func() Data { return new(LoadOpened) }},
	"carton.dispatched":       {1, func() Data { return new(CartonDispatched) }},
	"dispatch.cancelled":      {1, func() Data { return new(DispatchCancelled) }},
	"load.closed":             {1, func() Data { return new(LoadClosed) }},
	"plan.released":           {1, func() Data { return new(PlanReleased) }},
	"plan.change-proposed":    {1, func() Data { return new(PlanChangeProposed) }},
	"plan.change-approved":    {1, func() Data { return new(PlanChangeApproved) }},
	"plan.amended":            {1, func() Data { return new(PlanAmended) }},
	"plan.change-declined":    {1, func() Data { return new(PlanChangeDeclined) }},
	"plan.closed":             {1, func() Data { return new(PlanClosed) }},
	"mismatch.raised":         {1, func() Data { return new(MismatchRaised) }},
	"mismatch.symptom-added":  {1, func() Data { return new(MismatchSymptomAdded) }},
	"mismatch.taken":          {1, func() Data { return new(MismatchTaken) }},
	"mismatch.noted":          {1, func() Data { return new(MismatchNoted) }},
	"mismatch.fixed":          {1, func() Data { return new(MismatchFixed) }},
	"mismatch.resolved":       {1, func() Data { return new(MismatchResolved) }},
	"mismatch.reopened":       {1, func() Data { return new(MismatchReopened) }},
	"override.granted":        {1, func() Data { return new(OverrideGranted) }},
	"station.joined":          {1, func() Data { return new(StationJoined) }},
	"session.started":         {1, func() Data { return new(SessionStarted) }},
	"session.ended":           {1, func() Data { return new(SessionEnded) }},
	"station.quiet":           {1, func() Data { return new(StationQuiet) }},
	"station.caught-up":       {1, func() Data { return new(StationCaughtUp) }},
	"clock.skew-noted":        {1, func() Data { return new(ClockSkewNoted) }},
	"scale.checked":           {1, func() Data { return new(ScaleChecked) }},
	"scan.refused":            {1, func() Data { return new(ScanRefused) }},
	"late.reported":           {1, func() Data { return new(LateReported) }},
	"action.taken-back":       {1, func() Data { return new(ActionTakenBack) }},
	"supply.received":         {1, func() Data { return new(SupplyReceived) }},
	"supply.issued":           {1, func() Data { return new(SupplyIssued) }},
	"supply.counted":          {1, func() Data { return new(SupplyCounted) }},
	"supply.low":              {1, func() Data { return new(SupplyLow) }},
	"supply.substituted":      {1, func() Data { return new(SupplySubstituted) }},
	"matlot.blocked":          {1, func() Data { return new(MatLotBlocked) }},
	"rate.set":                {1, func() Data { return new(RateSet) }},
	"claim.opened":            {1, func() Data { return new(ClaimOpened) }},
	"claim.traced":            {1, func() Data { return new(ClaimTraced) }},
	"claim.evidence-added":    {1, func() Data { return new(ClaimEvidenceAdded) }},
	"claim.siblings-checked":  {1, func() Data { return new(ClaimSiblingsChecked) }},
	"claim.linked":            {1, func() Data { return new(ClaimLinked) }},
	"claim.decided":           {1, func() Data { return new(ClaimDecided) }},
	"claim.closed":            {1, func() Data { return new(ClaimClosed) }},
	"head.signed":             {1, func() Data { return new(HeadSigned) }},
	"day.closed":              {1, func() Data { return new(DayClosed) }},
	"log.restored":            {1, func() Data { return new(LogRestored) }},
}

// Type gives "floor.founded".
func (*FloorFounded) Type() Type { return "floor.founded" }
func (*FloorFounded) fact()      {}

// Type gives "item.registered".
func (*ItemRegistered) Type() Type { return "item.registered" }
func (*ItemRegistered) fact()      {}

// Type gives "item.revised".
func (*ItemRevised) Type() Type { return "item.revised" }
func (*ItemRevised) fact()      {}

// Type gives "rulebook.published".
func (*RulebookPublished) Type() Type { return "rulebook.published" }
func (*RulebookPublished) fact()      {}

// Type gives "rulebook.blocked".
func (*RulebookBlocked) Type() Type { return "rulebook.blocked" }
func (*RulebookBlocked) fact()      {}

// Type gives "badge.enrolled".
func (*BadgeEnrolled) Type() Type { return "badge.enrolled" }
func (*BadgeEnrolled) fact()      {}

// Type gives "badge.retired".
func (*BadgeRetired) Type() Type { return "badge.retired" }
func (*BadgeRetired) fact()      {}

// Type gives "recipe.cleared".
func (*RecipeCleared) Type() Type { return "recipe.cleared" }
func (*RecipeCleared) fact()      {}

// Type gives "lot.announced".
func (*LotAnnounced) Type() Type { return "lot.announced" }
func (*LotAnnounced) fact()      {}

// Type gives "lot.received".
func (*LotReceived) Type() Type { return "lot.received" }
func (*LotReceived) fact()      {}

// Type gives "lot.shortfall-noted".
func (*LotShortfallNoted) Type() Type { return "lot.shortfall-noted" }
func (*LotShortfallNoted) fact()      {}

// Type gives "lot.overage-noted".
func (*LotOverageNoted) Type() Type { return "lot.overage-noted" }
func (*LotOverageNoted) fact()      {}

// Type gives "lot.corrected".
func (*LotCorrected) Type() Type { return "lot.corrected" }
func (*LotCorrected) fact()      {}

// Type gives "tote.split".
func (*ToteSplit) Type() Type { return "tote.split" }
func (*ToteSplit) fact()      {}

// Type gives "tote.cleared".
func (*ToteCleared) Type() Type { return "tote.cleared" }
func (*ToteCleared) fact()      {}

// Type gives "tote.moved".
func (*ToteMoved) Type() Type { return "tote.moved" }
func (*ToteMoved) fact()      {}

// Type gives "units.triaged".
func (*UnitsTriaged) Type() Type { return "units.triaged" }
func (*UnitsTriaged) fact()      {}

// Type gives "units.held".
func (*UnitsHeld) Type() Type { return "units.held" }
func (*UnitsHeld) fact()      {}

// Type gives "hold.released".
func (*HoldReleased) Type() Type { return "hold.released" }
func (*HoldReleased) fact()      {}

// Type gives "units.diverted".
func (*UnitsDiverted) Type() Type { return "units.diverted" }
func (*UnitsDiverted) fact()      {}

// Type gives "units.returned-to-floor".
func (*UnitsReturnedToFloor) Type() Type { return "units.returned-to-floor" }
func (*UnitsReturnedToFloor) fact()      {}

// Type gives "units.written-off".
func (*UnitsWrittenOff) Type() Type { return "units.written-off" }
func (*UnitsWrittenOff) fact()      {}

// Type gives "units.unaccounted".
func (*UnitsUnaccounted) Type() Type { return "units.unaccounted" }
func (*UnitsUnaccounted) fact()      {}

// Type gives "run.opened".
func (*RunOpened) Type() Type { return "run.opened" }
func (*RunOpened) fact()      {}

// Type gives "run.paused".
func (*RunPaused) Type() Type { return "run.paused" }
func (*RunPaused) fact()      {}

// Type gives "run.resumed".
func (*RunResumed) Type() Type { return "run.resumed" }
func (*RunResumed) fact()      {}

// Type gives "run.handed-over".
func (*RunHandedOver) Type() Type { return "run.handed-over" }
func (*RunHandedOver) fact()      {}

// Type gives "run.closed".
func (*RunClosed) Type() Type { return "run.closed" }
func (*RunClosed) fact()      {}

// Type gives "labels.printed".
func (*LabelsPrinted) Type() Type { return "labels.printed" }
func (*LabelsPrinted) fact()      {}

// Type gives "labels.live".
func (*LabelsLive) Type() Type { return "labels.live" }
func (*LabelsLive) fact()      {}

// Type gives "labels.spoiled".
func (*LabelsSpoiled) Type() Type { return "labels.spoiled" }
func (*LabelsSpoiled) fact()      {}

// Type gives "mark.voided".
func (*MarkVoided) Type() Type { return "mark.voided" }
func (*MarkVoided) fact()      {}

// Type gives "unit.marked".
func (*UnitMarked) Type() Type { return "unit.marked" }
func (*UnitMarked) fact()      {}

// Type gives "material.drawn".
func (*MaterialDrawn) Type() Type { return "material.drawn" }
func (*MaterialDrawn) fact()      {}

// Type gives "material.swapped".
func (*MaterialSwapped) Type() Type { return "material.swapped" }
func (*MaterialSwapped) fact()      {}

// Type gives "step.checked".
func (*StepChecked) Type() Type { return "step.checked" }
func (*StepChecked) fact()      {}

// Type gives "units.prepped".
func (*UnitsPrepped) Type() Type { return "units.prepped" }
func (*UnitsPrepped) fact()      {}

// Type gives "unit.spoiled".
func (*UnitSpoiled) Type() Type { return "unit.spoiled" }
func (*UnitSpoiled) fact()      {}

// Type gives "bundle.built".
func (*BundleBuilt) Type() Type { return "bundle.built" }
func (*BundleBuilt) fact()      {}

// Type gives "carton.opened".
func (*CartonOpened) Type() Type { return "carton.opened" }
func (*CartonOpened) fact()      {}

// Type gives "unit.placed".
func (*UnitPlaced) Type() Type { return "unit.placed" }
func (*UnitPlaced) fact()      {}

// Type gives "unit.taken-out".
func (*UnitTakenOut) Type() Type { return "unit.taken-out" }
func (*UnitTakenOut) fact()      {}

// Type gives "carton.finished".
func (*CartonFinished) Type() Type { return "carton.finished" }
func (*CartonFinished) fact()      {}

// Type gives "carton.weighed".
func (*CartonWeighed) Type() Type { return "carton.weighed" }
func (*CartonWeighed) fact()      {}

// Type gives "count.entered".
func (*CountEntered) Type() Type { return "count.entered" }
func (*CountEntered) fact()      {}

// Type gives "count.accepted".
func (*CountAccepted) Type() Type { return "count.accepted" }
func (*CountAccepted) fact()      {}

// Type gives "count.voided".
func (*CountVoided) Type() Type { return "count.voided" }
func (*CountVoided) fact()      {}

// Type gives "carton.sealed".
func (*CartonSealed) Type() Type { return "carton.sealed" }
func (*CartonSealed) fact()      {}

// Type gives "carton.reopened".
func (*CartonReopened) Type() Type { return "carton.reopened" }
func (*CartonReopened) fact()      {}

// Type gives "carton.voided".
func (*CartonVoided) Type() Type { return "carton.voided" }
func (*CartonVoided) fact()      {}

// Type gives "carton.handed-over".
func (*CartonHandedOver) Type() Type { return "carton.handed-over" }
func (*CartonHandedOver) fact()      {}

// Type gives "load.opened".
func (*LoadOpened) Type() Type { return "load.opened" }
func (*LoadOpened) fact()      {}

// Type gives "carton.dispatched".
func (*CartonDispatched) Type() Type { return "carton.dispatched" }
func (*CartonDispatched) fact()      {}

// Type gives "dispatch.cancelled".
func (*DispatchCancelled) Type() Type { return "dispatch.cancelled" }
func (*DispatchCancelled) fact()      {}

// Type gives "load.closed".
func (*LoadClosed) Type() Type { return "load.closed" }
func (*LoadClosed) fact()      {}

// Type gives "plan.released".
func (*PlanReleased) Type() Type { return "plan.released" }
func (*PlanReleased) fact()      {}

// Type gives "plan.change-proposed".
func (*PlanChangeProposed) Type() Type { return "plan.change-proposed" }
func (*PlanChangeProposed) fact()      {}

// Type gives "plan.change-approved".
func (*PlanChangeApproved) Type() Type { return "plan.change-approved" }
func (*PlanChangeApproved) fact()      {}

// Type gives "plan.amended".
func (*PlanAmended) Type() Type { return "plan.amended" }
func (*PlanAmended) fact()      {}

// Type gives "plan.change-declined".
func (*PlanChangeDeclined) Type() Type { return "plan.change-declined" }
func (*PlanChangeDeclined) fact()      {}

// Type gives "plan.closed".
func (*PlanClosed) Type() Type { return "plan.closed" }
func (*PlanClosed) fact()      {}

// Type gives "mismatch.raised".
func (*MismatchRaised) Type() Type { return "mismatch.raised" }
func (*MismatchRaised) fact()      {}

// Type gives "mismatch.symptom-added".
func (*MismatchSymptomAdded) Type() Type { return "mismatch.symptom-added" }
func (*MismatchSymptomAdded) fact()      {}

// Type gives "mismatch.taken".
func (*MismatchTaken) Type() Type { return "mismatch.taken" }
func (*MismatchTaken) fact()      {}

// Type gives "mismatch.noted".
func (*MismatchNoted) Type() Type { return "mismatch.noted" }
func (*MismatchNoted) fact()      {}

// Type gives "mismatch.fixed".
func (*MismatchFixed) Type() Type { return "mismatch.fixed" }
func (*MismatchFixed) fact()      {}

// Type gives "mismatch.resolved".
func (*MismatchResolved) Type() Type { return "mismatch.resolved" }
func (*MismatchResolved) fact()      {}

// Type gives "mismatch.reopened".
func (*MismatchReopened) Type() Type { return "mismatch.reopened" }
func (*MismatchReopened) fact()      {}

// Type gives "override.granted".
func (*OverrideGranted) Type() Type { return "override.granted" }
func (*OverrideGranted) fact()      {}

// Type gives "station.joined".
func (*StationJoined) Type() Type { return "station.joined" }
func (*StationJoined) fact()      {}

// Type gives "session.started".
func (*SessionStarted) Type() Type { return "session.started" }
func (*SessionStarted) fact()      {}

// Type gives "session.ended".
func (*SessionEnded) Type() Type { return "session.ended" }
func (*SessionEnded) fact()      {}

// Type gives "station.quiet".
func (*StationQuiet) Type() Type { return "station.quiet" }
func (*StationQuiet) fact()      {}

// Type gives "station.caught-up".
func (*StationCaughtUp) Type() Type { return "station.caught-up" }
func (*StationCaughtUp) fact()      {}

// Type gives "clock.skew-noted".
func (*ClockSkewNoted) Type() Type { return "clock.skew-noted" }
func (*ClockSkewNoted) fact()      {}

// Type gives "scale.checked".
func (*ScaleChecked) Type() Type { return "scale.checked" }
func (*ScaleChecked) fact()      {}

// Type gives "scan.refused".
func (*ScanRefused) Type() Type { return "scan.refused" }
func (*ScanRefused) fact()      {}

// Type gives "late.reported".
func (*LateReported) Type() Type { return "late.reported" }
func (*LateReported) fact()      {}

// Type gives "action.taken-back".
func (*ActionTakenBack) Type() Type { return "action.taken-back" }
func (*ActionTakenBack) fact()      {}

// Type gives "claim.opened".
func (*ClaimOpened) Type() Type { return "claim.opened" }
func (*ClaimOpened) fact()      {}

// Type gives "claim.traced".
func (*ClaimTraced) Type() Type { return "claim.traced" }
func (*ClaimTraced) fact()      {}

// Type gives "claim.evidence-added".
func (*ClaimEvidenceAdded) Type() Type { return "claim.evidence-added" }
func (*ClaimEvidenceAdded) fact()      {}

// Type gives "claim.siblings-checked".
func (*ClaimSiblingsChecked) Type() Type { return "claim.siblings-checked" }
func (*ClaimSiblingsChecked) fact()      {}

// Type gives "claim.linked".
func (*ClaimLinked) Type() Type { return "claim.linked" }
func (*ClaimLinked) fact()      {}

// Type gives "claim.decided".
func (*ClaimDecided) Type() Type { return "claim.decided" }
func (*ClaimDecided) fact()      {}

// Type gives "claim.closed".
func (*ClaimClosed) Type() Type { return "claim.closed" }
func (*ClaimClosed) fact()      {}

// Type gives "supply.received".
func (*SupplyReceived) Type() Type { return "supply.received" }
func (*SupplyReceived) fact()      {}

// Type gives "supply.issued".
func (*SupplyIssued) Type() Type { return "supply.issued" }
func (*SupplyIssued) fact()      {}

// Type gives "supply.counted".
func (*SupplyCounted) Type() Type { return "supply.counted" }
func (*SupplyCounted) fact()      {}

// Type gives "supply.low".
func (*SupplyLow) Type() Type { return "supply.low" }
func (*SupplyLow) fact()      {}

// Type gives "supply.substituted".
func (*SupplySubstituted) Type() Type { return "supply.substituted" }
func (*SupplySubstituted) fact()      {}

// Type gives "matlot.blocked".
func (*MatLotBlocked) Type() Type { return "matlot.blocked" }
func (*MatLotBlocked) fact()      {}

// Type gives "rate.set".
func (*RateSet) Type() Type { return "rate.set" }
func (*RateSet) fact()      {}

// Type gives "head.signed".
func (*HeadSigned) Type() Type { return "head.signed" }
func (*HeadSigned) fact()      {}

// Type gives "day.closed".
func (*DayClosed) Type() Type { return "day.closed" }
func (*DayClosed) fact()      {}

// Type gives "log.restored".
func (*LogRestored) Type() Type { return "log.restored" }
func (*LogRestored) fact()      {}
