package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// browser is a headless browser that is spoken to over pipes, in the protocol
// of its developer tools: each message is JSON and ends with a zero byte.
type browser struct {
	t       *testing.T
	out     *os.File
	in      *bufio.Reader
	session string
	last    int
	noise   []string // what the page wrote to its console, and its errors
}

// startBrowser starts a browser without a page.
func startBrowser(t *testing.T) *browser {
	t.Helper()
	path := program(t, "chromium")
	// Not the test's own folder: helper processes may write to it for a moment
	// after the browser has gone, which must fail no test.
	profile, err := os.MkdirTemp("", "airtally-browser-")
	require.NoError(t, err)
	t.Cleanup(func() { _ = os.RemoveAll(profile) })
	toRead, out, err := os.Pipe()
	require.NoError(t, err)
	in, toWrite, err := os.Pipe()
	require.NoError(t, err)
	c := exec.Command(path, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
		"--user-data-dir="+profile, "--remote-debugging-pipe")
	c.ExtraFiles = []*os.File{toRead, toWrite} // its descriptors 3 and 4
	require.NoError(t, c.Start())
	require.NoError(t, toRead.Close())
	require.NoError(t, toWrite.Close())
	t.Cleanup(func() {
		_ = c.Process.Kill()
		_ = c.Wait()
		_ = out.Close()
		_ = in.Close()
	})
	return &browser{t: t, out: out, in: bufio.NewReader(in)}
}

// message is an answer of the browser, or an event.
type message struct {
	ID     int             `json:"id"`
	Method string          `json:"method"`
	Result json.RawMessage `json:"result"`
	Params json.RawMessage `json:"params"`
	Error  *struct {
		Message string `json:"message"`
	} `json:"error"`
}

// send sends a command and decodes its answer into a value, or drops it for nil.
func (b *browser) send(method string, params, into any) {
	b.t.Helper()
	b.last++
	id := b.last
	text, err := json.Marshal(map[string]any{"id": id, "method": method, "params": params, "sessionId": b.session})
	require.NoError(b.t, err)
	if b.session == "" {
		text = bytes.Replace(text, []byte(`,"sessionId":""`), nil, 1)
	}
	_, err = b.out.Write(append(text, 0))
	require.NoError(b.t, err)
	for {
		m := b.read()
		if m.ID != id {
			continue
		}
		require.Nil(b.t, m.Error, "%s", method)
		if into != nil {
			require.NoError(b.t, json.Unmarshal(m.Result, into))
		}
		return
	}
}

// read returns the next message, and keeps what the page complains of.
func (b *browser) read() message {
	b.t.Helper()
	text, err := b.in.ReadBytes(0)
	require.NoError(b.t, err)
	var m message
	require.NoError(b.t, json.Unmarshal(bytes.TrimSuffix(text, []byte{0}), &m))
	switch m.Method {
	case "Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded", "Network.loadingFailed":
		b.noise = append(b.noise, m.Method+" "+string(m.Params))
	case "Network.requestWillBeSent":
		var p struct {
			Request struct {
				URL string `json:"url"`
			} `json:"request"`
		}
		require.NoError(b.t, json.Unmarshal(m.Params, &p))
		if !strings.HasPrefix(p.Request.URL, "file:") && !strings.HasPrefix(p.Request.URL, "data:") {
			b.noise = append(b.noise, "asked for "+p.Request.URL)
		}
	}
	return m
}

// open opens a file as a page.
func (b *browser) open(path string) {
	b.t.Helper()
	var target struct {
		TargetID string `json:"targetId"`
	}
	b.send("Target.createTarget", map[string]any{"url": "about:blank"}, &target)
	var attached struct {
		SessionID string `json:"sessionId"`
	}
	b.send("Target.attachToTarget", map[string]any{"targetId": target.TargetID, "flatten": true}, &attached)
	b.session = attached.SessionID
	for _, domain := range []string{"Page", "Runtime", "Log", "Network"} {
		b.send(domain+".enable", map[string]any{}, nil)
	}
	b.send("Page.navigate", map[string]any{"url": "file://" + path}, nil)
	for until := time.Now().Add(20 * time.Second); b.evaluate("document.readyState") != "complete"; {
		require.True(b.t, time.Now().Before(until), "the page does not load")
		time.Sleep(20 * time.Millisecond)
	}
}

// evaluate returns the value of an expression in the page.
func (b *browser) evaluate(expression string) any {
	b.t.Helper()
	var answer struct {
		Result struct {
			Value any `json:"value"`
		} `json:"result"`
		ExceptionDetails any `json:"exceptionDetails"`
	}
	b.send("Runtime.evaluate", map[string]any{"expression": expression, "returnByValue": true}, &answer)
	require.Nil(b.t, answer.ExceptionDetails, expression)
	return answer.Result.Value
}

// width sets how wide the screen is, in CSS pixels.
func (b *browser) width(pixels int) {
	b.send("Emulation.setDeviceMetricsOverride", map[string]any{"width": pixels, "height": 900, "deviceScaleFactor": 1, "mobile": pixels < 500}, nil)
}

// prefers sets whether the reader prefers light or dark.
func (b *browser) prefers(scheme string) {
	b.send("Emulation.setEmulatedMedia", map[string]any{"features": []map[string]string{{"name": "prefers-color-scheme", "value": scheme}}}, nil)
}

// press presses a key.
func (b *browser) press(key, text string) {
	b.send("Input.dispatchKeyEvent", map[string]any{"type": "keyDown", "key": key, "code": key, "text": text, "windowsVirtualKeyCode": map[string]int{"Enter": 13, "Tab": 9}[key]}, nil)
	b.send("Input.dispatchKeyEvent", map[string]any{"type": "keyUp", "key": key, "code": key}, nil)
}

// print returns the page as a PDF on paper of a size in inches.
func (b *browser) print(width, height float64) []byte {
	var printed struct {
		Data []byte `json:"data"`
	}
	b.send("Page.printToPDF", map[string]any{"paperWidth": width, "paperHeight": height, "preferCSSPageSize": false}, &printed)
	return printed.Data
}

// picture returns the page as a PNG picture, the whole of it.
func (b *browser) picture() []byte {
	var taken struct {
		Data []byte `json:"data"`
	}
	b.send("Page.captureScreenshot", map[string]any{"captureBeyondViewport": true, "format": "png",
		"clip": map[string]any{"x": 0, "y": 0, "width": b.evaluate("document.documentElement.clientWidth"),
			"height": b.evaluate("Math.min(16000, document.documentElement.scrollHeight)"), "scale": 1}}, &taken)
	return taken.Data
}
