package events

// PlanLine says how many of an item a carton shall hold.
type PlanLine struct {
	Carton string `json:"carton"`
	Item   string `json:"item"`
	Q      int    `json:"q"`
	Owner  string `json:"owner"`
}

// PlanReleased puts revision 1 of a plan in force. Policy names the destination's limits.
type PlanReleased struct {
	Plan   string     `json:"plan"`
	Rev    int        `json:"rev"`
	Policy string     `json:"destination_policy"`
	Lines  []PlanLine `json:"lines"`
}

// PlanChange adds Delta to a line of the plan.
type PlanChange struct {
	Carton string `json:"carton"`
	Item   string `json:"item"`
	Owner  string `json:"owner"`
	Delta  int    `json:"delta"`
}

// PlanChangeProposed asks; nothing moves until all who must have agreed.
type PlanChangeProposed struct {
	Proposal string       `json:"proposal"`
	Plan     string       `json:"plan"`
	Changes  []PlanChange `json:"changes"`
	Reason   string       `json:"reason"`
}

// PlanChangeApproved is one party's yes, for the lines of Owner.
type PlanChangeApproved struct {
	Proposal string `json:"proposal"`
	By       string `json:"by"`
	Owner    string `json:"owner"`
	Basis    string `json:"basis"` // owner, client, delegation
}

// PlanAmended puts the next revision in force; written with the last yes.
type PlanAmended struct {
	Plan     string       `json:"plan"`
	Rev      int          `json:"rev"`
	Proposal string       `json:"proposal"`
	Changes  []PlanChange `json:"changes"`
	Approved []string     `json:"approved_by"`
}

// PlanChangeDeclined ends a proposal.
type PlanChangeDeclined struct {
	Proposal string `json:"proposal"`
	By       string `json:"by"`
	Reason   string `json:"reason,omitempty"`
}

// PlanClosed ends a plan when nothing of it is left to send.
type PlanClosed struct {
	Plan       string `json:"plan"`
	Rev        int    `json:"rev"`
	Planned    int    `json:"planned"`
	Sealed     int    `json:"sealed"`
	Dispatched int    `json:"dispatched"`
}
