package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"slices"

	"bagwatch/internal/curve"
	"bagwatch/internal/reply"
)

// Validate refuses flags that do not go together.
func (c *askCommand) Validate() error {
	if c.PNG != "" && c.JSON && len(c.Words) == 1 && c.Words[0] == "-" {
		return errors.New("--png draws one message, not many lines")
	}
	return nil
}

// picture writes the picture of a plan to the file of --png, which must not exist yet, and gives the lines
// of its caption that the answer has not said.
func (a asker) picture(o outcome) (reply.Text, error) {
	if a.command.PNG == "" || o.plan == nil {
		return nil, nil
	}
	picture := a.language.Picture(reply.PlanCourse(o.plan), a.options)
	painter, err := curve.New()
	if err != nil {
		return nil, err
	}
	var drawn bytes.Buffer
	if err := painter.Draw(&drawn, picture); err != nil {
		return nil, err
	}
	file, err := os.OpenFile(a.command.PNG, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return nil, fmt.Errorf("write the picture: %w", err)
	}
	_, err = file.Write(drawn.Bytes())
	if err := errors.Join(err, file.Close()); err != nil {
		return nil, fmt.Errorf("write the picture: %w", errors.Join(err, os.Remove(a.command.PNG)))
	}
	said := make(map[string]bool, len(o.text))
	for _, line := range o.text {
		said[line.String()] = true
	}
	return slices.DeleteFunc(picture.Caption, func(l reply.Line) bool { return said[l.String()] }), nil
}
