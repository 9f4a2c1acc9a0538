package source

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"chestrise/etl/record"
)

type manifestText struct {
	Source      string          `json:"source"`
	Units       []string        `json:"unit"`
	Period      periodText      `json:"period"`
	Coverage    string          `json:"coverage"`
	Mode        string          `json:"mode"`
	Sequence    int64           `json:"sequence"`
	ExtractedAt string          `json:"extracted_at"`
	Privacy     string          `json:"privacy_mode"`
	Agreement   string          `json:"agreement,omitempty"`
	Synthetic   bool            `json:"synthetic,omitempty"`
	Files       []fileText      `json:"files"`
	Recording   []recordingText `json:"recording,omitempty"`
}

type periodText struct {
	First string `json:"first"`
	Last  string `json:"last"`
}

type fileText struct {
	Name   string `json:"name"`
	Rows   int64  `json:"rows"`
	SHA256 string `json:"sha256"`
}

type recordingText struct {
	Unit     string `json:"unit"`
	From     string `json:"from"`
	How      string `json:"how,omitempty"`
	TimeUnit uint8  `json:"time_unit_s,omitempty"`
	Form     string `json:"form,omitempty"`
	TempSite string `json:"temperature_site,omitempty"`
}

// WriteManifest writes the manifest of a delivery. What it writes, ReadManifest
// reads back the same, but for the hash of the manifest itself.
func WriteManifest(w io.Writer, d record.Delivery) error {
	month := func(m record.Month) string {
		if d.Privacy == record.YearOnly {
			return fmt.Sprintf("%04d", m.Year())
		}
		return m.String()
	}
	text := manifestText{
		Source: d.Source, Units: d.Units, Period: periodText{month(d.From), month(d.To)},
		Coverage: d.Coverage.String(), Mode: d.Mode.String(), Sequence: d.Sequence,
		ExtractedAt: d.ExtractedAt.UTC().Format(time.RFC3339),
		Privacy:     d.Privacy.String(), Agreement: d.Agreement, Synthetic: d.Synthetic,
	}
	for _, f := range d.Files {
		text.Files = append(text.Files, fileText{f.Name, f.Rows, hex.EncodeToString(f.SHA256[:])})
	}
	for _, c := range d.Recording {
		text.Recording = append(text.Recording, recordingText{c.Unit, month(c.From), c.How.String(), c.TimeUnit, c.Form, c.TempSite})
	}
	out := json.NewEncoder(w)
	out.SetIndent("", "  ")
	return out.Encode(text)
}
