package examples

import (
	"os"
	"path/filepath"
)

// Sources reads the sources and CSV files of a workspace's folder, by name, for
// tests that change them. What was built in the folder is passed over.
func Sources(dir string) (map[string]string, error) {
	list, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, f := range list {
		if ext := filepath.Ext(f.Name()); f.IsDir() || ext != ".fettle" && ext != ".csv" {
			continue
		}
		b, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			return nil, err
		}
		out[f.Name()] = string(b)
	}
	return out, nil
}
