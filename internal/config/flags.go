package config

import "strconv"

// Flags are the settings as flags of a command, with the tags that the command line parser reads. Empty
// means not given. Secrets can only be named by a file.
type Flags struct {
	TelegramTokenFile string   `name:"telegram-token-file" placeholder:"FILE" help:"File with the bot's token (TELEGRAM_TOKEN_FILE)."`
	TelegramAPIURL    string   `name:"telegram-api-url" placeholder:"URL" help:"Address of the Bot API server (TELEGRAM_API_URL)."`
	RedisURLFile      string   `name:"redis-url-file" placeholder:"FILE" help:"File with the Redis address (REDIS_URL_FILE)."`
	Embedded          bool     `name:"embedded" help:"Serve without Redis: running bags are lost at exit (BAGWATCH_EMBEDDED)."`
	AllowVolatile     bool     `name:"allow-volatile" help:"Accept a Redis that evicts or does not persist (BAGWATCH_ALLOW_VOLATILE)."`
	DataKeyFile       string   `name:"data-key-file" placeholder:"FILE" help:"File with the key that encrypts what is stored (BAGWATCH_DATA_KEY_FILE)."`
	WebhookURL        string   `name:"webhook-url" placeholder:"URL" help:"Public https address for updates; without one the bot polls (BAGWATCH_WEBHOOK_URL)."`
	WebhookSecretFile string   `name:"webhook-secret-file" placeholder:"FILE" help:"File with the webhook's secret (BAGWATCH_WEBHOOK_SECRET_FILE)."`
	Listen            string   `name:"listen" placeholder:"HOST:PORT" help:"Address for webhook, /healthz and /readyz (BAGWATCH_LISTEN)."`
	Metrics           string   `name:"metrics" placeholder:"HOST:PORT" help:"Address for /metrics (BAGWATCH_METRICS)."`
	Allow             string   `name:"allow" placeholder:"IDS" help:"Chats and people that are answered, separated by commas (BAGWATCH_ALLOW)."`
	Rate              *float64 `name:"rate" placeholder:"N" help:"Alerts and card edits a second in all chats (BAGWATCH_RATE)."`
	LogLevel          string   `name:"log-level" placeholder:"LEVEL" help:"debug, info, warn or error (BAGWATCH_LOG_LEVEL)."`
	ClockSpeed        *float64 `name:"clock-speed" placeholder:"N" help:"A demo clock: how many times faster than real time (BAGWATCH_CLOCK_SPEED)."`
}

// Over gives a lookup in which flags that were given win over what lookup finds.
func (f Flags) Over(lookup Lookup) Lookup {
	given := map[string]string{
		"TELEGRAM_TOKEN_FILE": f.TelegramTokenFile, "TELEGRAM_API_URL": f.TelegramAPIURL, "REDIS_URL_FILE": f.RedisURLFile,
		"BAGWATCH_DATA_KEY_FILE": f.DataKeyFile, "BAGWATCH_WEBHOOK_URL": f.WebhookURL,
		"BAGWATCH_WEBHOOK_SECRET_FILE": f.WebhookSecretFile, "BAGWATCH_LISTEN": f.Listen, "BAGWATCH_METRICS": f.Metrics,
		"BAGWATCH_ALLOW": f.Allow, "BAGWATCH_LOG_LEVEL": f.LogLevel,
		"BAGWATCH_EMBEDDED": onlyTrue(f.Embedded), "BAGWATCH_ALLOW_VOLATILE": onlyTrue(f.AllowVolatile),
		"BAGWATCH_RATE": number(f.Rate), "BAGWATCH_CLOCK_SPEED": number(f.ClockSpeed),
	}
	return func(name string) (string, bool) {
		if v := given[name]; v != "" {
			return v, true
		}
		// A file named by a flag replaces a secret in the environment.
		if given[name+fileSuffix] != "" {
			return "", false
		}
		return lookup(name)
	}
}

func onlyTrue(b bool) string {
	if b {
		return "true"
	}
	return ""
}

func number(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'g', -1, 64)
}
