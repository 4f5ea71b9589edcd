package reports

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"strings"

	"nightpair/qc/judge"
	"nightpair/qc/number"
)

// decisionSpace is the XML namespace of the ASC CDL, version 1.2.
const decisionSpace = "urn:ASC:CDL:v1.01"

// decisionDecimals are six: a tenth of a step of 16 bits.
const decisionDecimals = 6

func decisionTriple(v [3]float64) string {
	return fmt.Sprintf("%s %s %s", number.Fixed(v[0], decisionDecimals), number.Fixed(v[1], decisionDecimals), number.Fixed(v[2], decisionDecimals))
}

// decision is a ColorCorrection of the ASC CDL. The order of the fields is that of
// the elements.
type decision struct {
	XMLName     xml.Name `xml:"ColorCorrection"`
	Space       string   `xml:"xmlns,attr,omitempty"`
	ID          string   `xml:"id,attr"`
	Description []string `xml:"Description"`
	Slope       string   `xml:"SOPNode>Slope"`
	Offset      string   `xml:"SOPNode>Offset"`
	Power       string   `xml:"SOPNode>Power"`
	Saturation  string   `xml:"SatNode>Saturation"`
}

// decisions is a ColorCorrectionCollection of the ASC CDL.
type decisions struct {
	XMLName xml.Name   `xml:"ColorCorrectionCollection"`
	Space   string     `xml:"xmlns,attr"`
	All     []decision `xml:"ColorCorrection"`
}

func newDecision(key string, c judge.Correction) decision {
	g := c.Colour.Grade
	return decision{
		ID: key,
		Description: []string{
			"To be applied to the right eye's code values of " + strings.ToValidUTF8(c.Clip, "\uFFFD") + ".",
			fmt.Sprintf("Median colour difference of the eyes: %s before, %s after (CIEDE2000).",
				number.Plain(c.Colour.Before.Value, 2), number.Plain(c.Colour.After.Value, 2)),
		},
		Slope: decisionTriple(g.Slope), Offset: decisionTriple(g.Offset), Power: decisionTriple(g.Power),
		Saturation: number.Fixed(g.Saturation, decisionDecimals),
	}
}

// document writes an XML document with our mark.
func document(root any) ([]byte, error) {
	body, err := xml.MarshalIndent(root, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("colour decision: %w", err)
	}
	var b bytes.Buffer
	b.WriteString(xml.Header)
	b.WriteString("<!-- " + mark + " -->\n")
	b.Write(body)
	b.WriteString("\n")
	return b.Bytes(), nil
}

// nightDecisions is the name of the collection of the whole night.
const nightDecisions = "fixes/night.ccc"

// decisionName is where a clip's colour decision is kept.
func decisionName(key string) string { return "fixes/" + key + ".cc" }

// writeDecisions writes the colour decision of each clip that has one, and all of
// them in one collection.
func writeDecisions(out *folder, keys []string, fixes []judge.Correction) error {
	night := decisions{Space: decisionSpace}
	for i, fix := range fixes {
		if fix.Colour.Missing != "" {
			continue
		}
		d := newDecision(keys[i], fix)
		night.All = append(night.All, d)
		d.Space = decisionSpace
		text, err := document(d)
		if err != nil {
			return err
		}
		if err := out.write(decisionName(keys[i]), text); err != nil {
			return err
		}
	}
	if len(night.All) == 0 {
		return nil
	}
	text, err := document(night)
	if err != nil {
		return err
	}
	return out.write(nightDecisions, text)
}

// colourFix is a colour decision on a clip's page.
type colourFix struct {
	File                     string // as linked from the page
	Slope, Offset, Power     string
	Saturation               string
	Before, After            string // median ΔE00
	Exposure                 string // stops that remain
	Log                      bool   // of a log curve's code values
	WithPower, WithSaturated bool
}

func newColourFix(key string, c *clip, d judge.ColourDecision) *colourFix {
	if d.Missing != "" {
		return nil
	}
	g := d.Grade
	f := &colourFix{
		File:  "../" + decisionName(key),
		Slope: decisionTriple(g.Slope), Offset: decisionTriple(g.Offset), Power: decisionTriple(g.Power),
		Saturation: number.Fixed(g.Saturation, decisionDecimals),
		Before:     number.Plain(d.Before.Value, 2), After: number.Plain(d.After.Value, 2),
	}
	if d.Exposure.OK() {
		f.Exposure = number.Signed(d.Exposure.Value, 2)
	}
	f.Log = c.LogCurve()
	f.WithPower = g.Power != [3]float64{1, 1, 1}
	f.WithSaturated = g.Saturation != 1
	return f
}
