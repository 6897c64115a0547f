package main

import (
	"context"
	"log/slog"
	"net/http"
	"net/netip"
	"time"

	"github.com/alexedwards/scs/pgxstore"

	"ledgerwheel/cmd/ledgerwheel/demoshop"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/store/post"
	"ledgerwheel/store/post/letterbox"
	"ledgerwheel/web"
)

// deps is what the web side and the demo's data are made from.
type deps struct {
	Store     *store.Store
	Uploads   string // folder for photographs
	PublicURL string // where customers reach the program, without a final slash
	SetupKey  string // asked of other machines when the first owner is made
	StrictTLS bool   // browsers are told never to come without TLS again
	Demo      bool
	Hosts     []string       // further names by which the program is reached
	Proxies   []netip.Prefix // who may say for whom they ask
	Watching  *watching
	Nightly   string // what is done about backups every night, as a sentence; "" for nothing
	Checks    *store.Checker
	Sealing   *sealer
	Erased    *erasedList
	Post      *post.Carrier
	Letters   *letterbox.Box // of the demo; nil elsewhere
	Log       *slog.Logger
}

// buildHandler makes the web side.
func buildHandler(ctx context.Context, d deps) (http.Handler, error) {
	uploads, err := files.Open(d.Uploads)
	if err != nil {
		return nil, err
	}
	// What a pulled plug left of removed photographs goes now.
	if err := d.Store.ClearPictures(ctx, uploads.Remove); err != nil {
		d.Log.Error("files of removed photographs are left", "error", err)
	} else if err := sweep(ctx, d, uploads); err != nil {
		d.Log.Error("the uploads were not swept", "error", err)
	}
	config := web.Config{
		Store: d.Store, Sessions: pgxstore.New(d.Store.Pool()), Uploads: uploads, Log: d.Log, Now: time.Now,
		PublicURL: d.PublicURL, SetupKey: d.SetupKey, StrictTLS: d.StrictTLS, Demo: d.Demo, Nightly: d.Nightly,
		Hosts: d.Hosts, Proxies: d.Proxies, Troubles: d.Watching.Troubles, Checks: d.Checks, Sealing: d.Sealing,
		NoteErased: d.Erased.write,
	}
	if d.Post != nil {
		config.Post = d.Post
	}
	if d.Letters != nil {
		config.Letters = d.Letters
	}
	return web.New(config)
}

// sweep clears the uploads of what an earlier run left behind.
func sweep(ctx context.Context, d deps, uploads *files.Folder) error {
	pictures, sounds, err := d.Store.NamedFiles(ctx)
	if err != nil {
		return err
	}
	named := map[[32]byte]bool{}
	for _, sum := range append(pictures, sounds...) {
		named[sum] = true
	}
	did, err := uploads.Sweep(time.Now(), func(sum [32]byte) bool { return named[sum] })
	if did.Unfinished > 0 {
		d.Log.Info("files that were never written to their end were removed", "files", did.Unfinished)
	}
	if len(did.Lost) > 0 {
		d.Log.Warn("files that nothing in the record names were moved to uploads/lost", "files", len(did.Lost), "names", did.Lost)
	}
	if len(did.Found) > 0 {
		d.Log.Info("files that the record names were moved back from uploads/lost", "files", len(did.Found), "names", did.Found)
	}
	return err
}

// seedDemo fills the demo shop unless it is filled already, and returns its people's sign-ins.
func seedDemo(ctx context.Context, d deps) ([]demoshop.SignIn, error) {
	uploads, err := files.Open(d.Uploads)
	if err != nil {
		return nil, err
	}
	if err := demoshop.Fill(ctx, d.Store, uploads, time.Now()); err != nil {
		return nil, err
	}
	return demoshop.SignIns(), nil
}
