// Command packwright runs a floor: the hub that keeps its log, and the commands
// that ask it.
//
// main.go holds the table of commands; serve.go all the wiring of a hub: read it
// first. Each command has a file of its own. A command's Run gets a *desk: its
// input and output, the settings that all commands share, and the ways to reach
// a floor (floor.go). Whatever goes wrong is returned, and turned into a sentence
// and an exit code in one place (exit.go).
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"github.com/alecthomas/kong"
)

// commands is the table: one line a command.
type commands struct {
	settings

	Init  initCommand     `cmd:"" help:"Found a floor in an empty directory."`
	Serve serveCommand    `cmd:"" help:"Run the hub of a floor."`
	Do    doCommand       `cmd:"" help:"Give commands: JSON lines in, one JSON answer a line out."`
	Scan  scanCommand     `cmd:"" help:"Be a bench: scans as lines in, a sentence out for each."`
	Key   benchKeyCommand `cmd:"" name:"bench-key" help:"Make the key of a bench that reaches the bus from another machine."`
	Pin   pinCommand      `cmd:"" help:"Give a badge the PIN it signs in with first."`
	Items itemsCommand    `cmd:"" help:"The catalogue."`
	Plan  planCommand     `cmd:"" help:"What shall leave, in which carton."`
	Rules rulesCommand    `cmd:"" help:"The rulebook: what each item needs."`

	Board     boardCommand     `cmd:"" help:"Every carton, what blocks it, and whether the truck can go."`
	Why       whyCommand       `cmd:"" help:"Planned, scanned, counted, weighed: the evidence about a carton or a mismatch."`
	Options   optionsCommand   `cmd:"" help:"The lawful ways out of a mismatch."`
	Weights   weightsCommand   `cmd:"" help:"What accepted cartons tell of the weight of one unit; it proposes, and changes nothing."`
	Where     whereCommand     `cmd:"" help:"Where something is, and where it goes."`
	Trace     traceCommand     `cmd:"" help:"Which unit it was, and what was done to it."`
	Siblings  siblingsCommand  `cmd:"" help:"Which units share a fate with one, and where they are."`
	Claim     claimCommand     `cmd:"" help:"What the other side says, and what the log answers."`
	Day       dayCommand       `cmd:"" help:"The end of a day, and its sheet."`
	Replay    replayCommand    `cmd:"" help:"The floor as it was known at a moment."`
	Verify    verifyCommand    `cmd:"" help:"Prove the whole log anew."`
	Irregular irregularCommand `cmd:"" help:"All that was let pass, told late, refused or out of order."`
	Sample    sampleCommand    `cmd:"" help:"Units drawn at random, the same ones for the same seed."`
	Export    exportCommand    `cmd:"" help:"Events and tables for other programs."`
	Backup    backupCommand    `cmd:"" help:"The log in one file that proves itself, while packing goes on."`
	Restore   restoreCommand   `cmd:"" help:"A floor from a backup; or what a backup is worth."`
	Import    importCommand    `cmd:"" help:"What other programs, or export, have written."`
	Supplies  suppliesCommand  `cmd:"" help:"Lots of material: what is on hand, what was used, what is blocked."`
	Doctor    doctorCommand    `cmd:"" help:"What ails the floor, and what to do: disk, store, clock, backup, scales, ports."`
	Demo      demoCommand      `cmd:"" help:"Play one invented day on an invented floor, and ask it anything."`

	Fit      fitCommand      `cmd:"" help:"Which box or bag an item goes into, and with how much room."`
	Warn     warnCommand     `cmd:"" help:"Whether a bag gets a suffocation warning, and by whose measure."`
	Lift     liftCommand     `cmd:"" help:"How heavy a carton may be lifted so, by the NIOSH equation."`
	Inspect  inspectCommand  `cmd:"" name:"inspect-plan" help:"How many pieces of a lot to look at."`
	LabelFit labelFitCommand `cmd:"" help:"Whether a symbol goes onto a label at a printer's dots."`

	Label labelCommand `cmd:"" help:"Labels as PDF or PNG, or straight to a printer. They are painted, not kept: tell the floor with print-labels, or print-again."`
	Cards cardsCommand `cmd:"" help:"Action cards and number cards for hands in gloves."`

	Texts   textsCommand   `cmd:"" help:"Every refusal there is, with its two lines."`
	Policy  policyCommand  `cmd:"" help:"How this house works."`
	Version versionCommand `cmd:"" help:"What this program was built from."`
}

// settings are shared by all commands.
type settings struct {
	Data string `env:"PACKWRIGHT_DATA" default:"packwright-data" type:"path" placeholder:"DIR" help:"The floor's directory (${default})."`
	URL  string `name:"url" env:"PACKWRIGHT_URL" placeholder:"URL" help:"Ask the running hub there instead of opening the directory; the name of a file that holds the URL will do."`
	CA   string `name:"ca" env:"PACKWRIGHT_CA" placeholder:"FILE" help:"The authority, PEM, to believe a hub's certificate by, beside the machine's own."`
	JSON bool   `name:"json" env:"PACKWRIGHT_JSON" help:"Write JSON."`
	Log  string `env:"PACKWRIGHT_LOG" enum:"debug,info,warn,error" default:"info" help:"How much to log to standard error: debug, info, warn, error."`
}

const description = `Prep goods, pack cartons, keep a log that can be believed.

Exit codes: 0 done. 1 input or output failed, or a fault of ours: doing it again is safe. 2 bad input: file, line and column are named.
3 a gate said no, or nothing matches. 4 the log is not believable: stop.`

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, &streams{os.Stdin, os.Stdout, os.Stderr}, os.Args[1:])
	stop()
	os.Exit(code)
}

// run is main with its surroundings given, and its exit code returned.
func run(ctx context.Context, s *streams, args []string) (code int) {
	var c commands
	ended := -1
	parser, err := kong.New(&c, kong.Name("packwright"), kong.Description(description), kong.UsageOnError(),
		kong.Writers(s.out, s.err), kong.Exit(func(code int) { ended = code; panic(exited{}) }), kong.ConfigureHelp(kong.HelpOptions{Compact: true}))
	if err != nil {
		panic(err) // the table itself is wrong
	}
	defer func() {
		if p := recover(); p != nil {
			if _, asked := p.(exited); !asked {
				panic(p)
			}
			code = ended
		}
	}()
	parsed, err := parser.Parse(args)
	d := newDesk(ctx, s, &c.settings)
	if err == nil {
		err = parsed.Run(d)
	} else {
		err = usage(err)
	}
	return d.tell(err)
}

// exited is thrown when kong has answered by itself: after --help.
type exited struct{}
