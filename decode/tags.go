package decode

import (
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/asticode/go-astiav"
)

// tagsOf copies a dictionary. Keys are in lower case.
func tagsOf(d *astiav.Dictionary) map[string]string {
	tags := map[string]string{}
	if d == nil {
		return tags
	}
	for e := d.Get("", nil, astiav.NewDictionaryFlags(astiav.DictionaryFlagIgnoreSuffix)); e != nil; e = d.Get("", e, astiav.NewDictionaryFlags(astiav.DictionaryFlagIgnoreSuffix)) {
		tags[strings.ToLower(e.Key())] = strings.TrimSpace(e.Value())
	}
	return tags
}

// first gives the first value that any of the sets holds under key.
func first(key string, sets ...map[string]string) string {
	for _, tags := range sets {
		if v := tags[key]; v != "" {
			return v
		}
	}
	return ""
}

// timeLayouts are the ways in which creation times are written in the wild.
var timeLayouts = []string{
	time.RFC3339Nano,
	"2006-01-02T15:04:05.999999999-0700",
	"2006-01-02 15:04:05",
	"2006-01-02T15:04:05",
	"2006:01:02 15:04:05",       // DPX, TIFF
	"2006:01:02 15:04:05-07:00", // DPX with a zone
	"2006:01:02:15:04:05",       // SMPTE ST 268
	"2006:01:02:15:04:05-07:00",
	"2006:01:02:15:04:05MST",
	"Mon Jan _2 15:04:05 2006", // C's asctime
	"2006-01-02",
}

// created finds when a file was made; zero when it does not say.
func created(sets ...map[string]string) time.Time {
	for _, suffix := range []string{"creation_time", "creationdate", "datetimeoriginal", "date", "datetime", "modification_date"} {
		for _, tags := range sets {
			for _, key := range slices.Sorted(maps.Keys(tags)) {
				if lastPart(key) != suffix {
					continue
				}
				for _, layout := range timeLayouts {
					if t, err := time.Parse(layout, tags[key]); err == nil && t.Year() > 1904 {
						return t.UTC()
					}
				}
			}
		}
	}
	return time.Time{}
}

// cameraKeys lists what makers, models and serial numbers are filed under, by
// the last part of the key: writers prefix it in their own ways.
var cameraKeys = [][]string{
	{"make", "manufacturer", "cameramanufacturer", "company_name"},
	{"model", "cameramodel", "cameramodelname", "cameraname", "product_name"},
	{"serial", "serialnumber", "serialno", "cameraserialnumber", "cameraserial", "camera_serial_number", "serial_number", "bodyserialnumber"},
}

// camera joins make, model and serial number as far as they are tagged.
func camera(sets ...map[string]string) string {
	var words []string
	for _, names := range cameraKeys {
		if v := cameraTag(names, sets); v != "" && !slices.Contains(words, v) {
			words = append(words, v)
		}
	}
	return strings.Join(words, " ")
}

func cameraTag(names []string, sets []map[string]string) string {
	for _, tags := range sets {
		for _, name := range names {
			for _, key := range slices.Sorted(maps.Keys(tags)) {
				if lastPart(key) == name && tags[key] != "" {
					return tags[key]
				}
			}
		}
	}
	return ""
}

func lastPart(key string) string {
	return key[strings.LastIndexAny(key, ".:")+1:]
}
