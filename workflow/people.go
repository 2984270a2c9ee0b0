package workflow

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

type enrolAsk struct {
	Badge   string        `json:"badge"`
	Roles   []events.Role `json:"roles"`
	Recipes []string      `json:"recipes_cleared"`
	OwnerOf string        `json:"owner_of"`
	Licence string        `json:"licence"`
}

// roles there are, as a badge may hold them.
var roles = []events.Role{events.Packer, events.Lead, events.Supervisor, events.Owner, events.Client, events.Auditor}

func (in *enrolAsk) check() error {
	if !plainWord(in.Badge) {
		return prep.Input(fmt.Sprintf("%q cannot be a badge", in.Badge), "use letters, digits and hyphens")
	}
	if len(in.Roles) == 0 {
		return prep.Input("the badge has no role", "give at least one, such as packer")
	}
	for _, r := range in.Roles {
		if !slices.Contains(roles, r) {
			return prep.Input(fmt.Sprintf("%q is not a role", r), "choose from packer, lead, supervisor, owner, client, auditor")
		}
	}
	if slices.Contains(in.Roles, events.Client) != (in.OwnerOf != "") {
		return prep.Input("a client and whose goods are theirs go together", "give owner_of with the role client")
	}
	return nil
}

type retireAsk struct {
	Badge  string `json:"badge"`
	Reason string `json:"reason"`
	badge  *Badge
}

type clearRecipeAsk struct {
	Badge  string `json:"badge"`
	Recipe string `json:"recipe"`
	badge  *Badge
}

// peopleRules say who may do what. A badge is a code: names live elsewhere.
var peopleRules = []rule{
	on(rule{Name: "enrol-badge", Who: supervisors, Moves: []Move{{"badge", "", "enrolled"}}}, []gate[enrolAsk]{
		{Gate{"a badge that never was", "E-CAT-04", ""}, func(d *decision, in *enrolAsk) *Refusal {
			if d.f.Badges[in.Badge] != nil {
				return refuse("E-CAT-04", in.Badge)
			}
			return nil
		}},
		{Gate{"only an owner makes an owner", "E-AUT-01", ""}, func(d *decision, in *enrolAsk) *Refusal {
			return d.ownersOnly(in.Roles)
		}},
	}, func(d *decision, in *enrolAsk) {
		d.emit(&events.BadgeEnrolled{Badge: in.Badge, Roles: in.Roles, Recipes: in.Recipes, OwnerOf: in.OwnerOf, Licence: in.Licence})
	}),

	on(rule{Name: "retire-badge", Who: supervisors, Moves: []Move{{"badge", "enrolled", "retired"}}}, []gate[retireAsk]{
		{Gate{"an enrolled badge", "E-SES-03", ""}, func(d *decision, in *retireAsk) *Refusal {
			if in.badge = d.f.Badges[in.Badge]; in.badge == nil {
				return refuse("E-SES-03", in.Badge)
			}
			if in.badge.Retired {
				return again(refuse("E-SES-03", in.Badge))
			}
			return nil
		}},
		{Gate{"only an owner retires an owner", "E-AUT-01", ""}, func(d *decision, in *retireAsk) *Refusal {
			return d.ownersOnly(in.badge.Roles)
		}},
		{Gate{"it is signed in nowhere", "E-SES-02", ""}, func(d *decision, in *retireAsk) *Refusal {
			if in.badge.Station != "" {
				return refuse("E-SES-02", in.badge.Station)
			}
			return nil
		}},
	}, func(d *decision, in *retireAsk) {
		d.emit(&events.BadgeRetired{Badge: in.Badge, Reason: in.Reason})
	}),

	on(rule{Name: "clear-recipe", Who: supervisors}, []gate[clearRecipeAsk]{
		{Gate{"an enrolled badge", "E-SES-03", ""}, func(d *decision, in *clearRecipeAsk) *Refusal {
			if in.badge = d.f.Badges[in.Badge]; in.badge == nil || in.badge.Retired {
				return refuse("E-SES-03", in.Badge)
			}
			return nil
		}},
		{Gate{"a recipe of the rulebook in force", "E-SYS-07", ""}, func(d *decision, in *clearRecipeAsk) *Refusal {
			book := d.f.Books[d.f.RulesRev]
			if in.Recipe != AllRecipes && (book == nil || !namesRecipe(book, in.Recipe)) {
				return refuse("E-SYS-07", fmt.Sprintf("Recipe %q", in.Recipe))
			}
			return nil
		}},
	}, func(d *decision, in *clearRecipeAsk) {
		if !slices.Contains(in.badge.Recipes, in.Recipe) {
			d.emit(&events.RecipeCleared{Badge: in.Badge, Recipe: in.Recipe, By: d.badge.Badge})
		}
	}),
}

// AllRecipes stands for every recipe a badge may be cleared for.
const AllRecipes = "*"

// ownersOnly refuses whoever is no owner when the roles in question hold one.
// An owner who is signed in cannot be retired, so the floor always keeps one.
func (d *decision) ownersOnly(of []events.Role) *Refusal {
	if slices.Contains(of, events.Owner) && !d.may(events.Owner) {
		return refuse("E-AUT-01")
	}
	return nil
}
