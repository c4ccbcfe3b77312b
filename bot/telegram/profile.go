package telegram

import (
	"context"
	"slices"

	tg "github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"
)

// Profile is what the bot says of itself in one language.
type Profile struct {
	Language    string // two letters; empty for everybody else
	Name        string // at most 64 characters; empty leaves it as it is
	Description string // shown in an empty chat, at most 512; empty leaves it as it is
	Short       string // shown on the bot's page, at most 120; empty leaves it as it is
	Commands    []Command
}

// Command is one line of the menu.
type Command struct {
	Name        string // 1-32 of a-z 0-9 _, without the slash
	Description string // 1-256 characters
}

// setProfiles writes what differs from what the platform has: writing is flood-limited, reading is
// not. What fails is logged and tried again at the next start; the bot works without.
func (a *Adapter) setProfiles(ctx context.Context) {
	for _, p := range a.cfg.Profiles {
		for what, step := range map[string]func(context.Context, Profile) error{
			"commands": a.setCommands, "name": a.setName, "description": a.setDescription, "short description": a.setShort,
		} {
			if ctx.Err() != nil {
				return
			}
			if err := step(ctx, p); err != nil && ctx.Err() == nil {
				a.log.Warn("profile not set", "what", what, "language", p.Language, "error", err)
			}
		}
	}
}

func (a *Adapter) setCommands(ctx context.Context, p Profile) error {
	want := make([]models.BotCommand, len(p.Commands))
	for i, c := range p.Commands {
		want[i] = models.BotCommand{Command: c.Name, Description: c.Description}
	}
	have, err := a.lib.GetMyCommands(ctx, &tg.GetMyCommandsParams{LanguageCode: p.Language})
	if err != nil || slices.Equal(have, want) || len(want) == 0 {
		return err
	}
	_, err = a.lib.SetMyCommands(ctx, &tg.SetMyCommandsParams{Commands: want, LanguageCode: p.Language})
	return err
}

func (a *Adapter) setName(ctx context.Context, p Profile) error {
	if p.Name == "" {
		return nil
	}
	have, err := a.lib.GetMyName(ctx, &tg.GetMyNameParams{LanguageCode: p.Language})
	if err != nil || have.Name == p.Name {
		return err
	}
	_, err = a.lib.SetMyName(ctx, &tg.SetMyNameParams{Name: p.Name, LanguageCode: p.Language})
	return err
}

func (a *Adapter) setDescription(ctx context.Context, p Profile) error {
	if p.Description == "" {
		return nil
	}
	have, err := a.lib.GetMyDescription(ctx, &tg.GetMyDescriptionParams{LanguageCode: p.Language})
	if err != nil || have.Description == p.Description {
		return err
	}
	_, err = a.lib.SetMyDescription(ctx, &tg.SetMyDescriptionParams{Description: p.Description, LanguageCode: p.Language})
	return err
}

func (a *Adapter) setShort(ctx context.Context, p Profile) error {
	if p.Short == "" {
		return nil
	}
	have, err := a.lib.GetMyShortDescription(ctx, &tg.GetMyShortDescriptionParams{LanguageCode: p.Language})
	if err != nil || have.ShortDescription == p.Short {
		return err
	}
	_, err = a.lib.SetMyShortDescription(ctx, &tg.SetMyShortDescriptionParams{ShortDescription: p.Short, LanguageCode: p.Language})
	return err
}
