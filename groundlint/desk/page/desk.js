// The page: an editor component that speaks to the language server, and what is shown beside the text.
// Whatever comes from a plan is put in as text, and never as markup.
'use strict';

const at = (id) => document.getElementById(id);
const made = (name, css, ...inside) => {
  const node = document.createElement(name);
  if (css) node.className = css;
  node.append(...inside);
  return node;
};
const put = (id, words) => { if (at(id).textContent !== words) at(id).textContent = words; }; // said aloud once
const SAVED = 'as in the file', CHANGED = 'changed, not saved';
const WAITING = "Being reviewed: it can't be said yet what the plan comes to.";
const KINDS = { broken: '', unread: ', not read', impossible: ', cannot be so' };
const ORDER = ['danger', 'warning', 'caution', 'notice'];
const QUIET = 200; // ms after which the picture follows the cursor

// Browsers that can are asked to run no script and take no markup but what is let through here: scripts of this machine,
// and drawings, which the server makes and which escape what they show.
const ours = {
  createScriptURL: (value) => {
    if (value !== '/editor.worker.js' && !value.startsWith('/vs/')) throw new TypeError(`no script of the desk: ${value}`);
    return value;
  },
  createHTML: (value) => {
    if (!value.startsWith('<svg ')) throw new TypeError('no drawing');
    return value;
  },
};
const policy = self.trustedTypes?.createPolicy('desk', ours) ?? ours;

// ---- the language server ----

class Talk {
  constructor(socket) {
    this.socket = socket;
    this.next = 1;
    this.waiting = new Map();
    this.listeners = {};
    socket.onmessage = (event) => this.heard(JSON.parse(event.data));
    socket.onclose = (event) => {
      for (const [, no] of this.waiting.values()) no(new Error('the server has ended'));
      this.gone(event);
    };
  }

  heard(message) {
    if (message.method) {
      this.listeners[message.method]?.(message.params);
      if (message.id !== undefined) this.send({ id: message.id, result: null });
      return;
    }
    const [yes, no] = this.waiting.get(message.id) ?? [];
    this.waiting.delete(message.id);
    if (message.error) no?.(new Error(message.error.message));
    else yes?.(message.result);
  }

  send(message) {
    if (this.socket.readyState === WebSocket.OPEN) this.socket.send(JSON.stringify({ jsonrpc: '2.0', ...message }));
  }

  tell(method, params) { this.send({ method, params }); }

  ask(method, params) {
    const id = this.next++;
    return new Promise((yes, no) => {
      if (this.socket.readyState !== WebSocket.OPEN) return no(new Error('the server has ended'));
      this.waiting.set(id, [yes, no]);
      this.send({ id, method, params });
    });
  }
}

// ---- places, here from 1 and there from 0 ----

const range = (r) => new monaco.Range(r.start.line + 1, r.start.character + 1, r.end.line + 1, r.end.character + 1);
const position = (p) => ({ line: p.lineNumber - 1, character: p.column - 1 });
const edited = (edit, model) => ({
  edits: edit.documentChanges.flatMap((of) => of.edits.map((one) => (
    { resource: model.uri, versionId: of.textDocument.version, textEdit: { range: range(one.range), text: one.newText } }))),
});

class Page {
  constructor(talk, loaded, server) {
    this.talk = talk;
    this.uri = loaded.uri;
    this.seen = loaded.seen;
    this.model = monaco.editor.createModel(loaded.text, loaded.language, monaco.Uri.from({ scheme: 'plan', path: `/${loaded.name}` }));
    this.model.setEOL(monaco.editor.EndOfLineSequence.LF);
    this.saved = this.model.getAlternativeVersionId();
    this.editor = monaco.editor.create(at('editor'), {
      model: this.model, theme: theme(), automaticLayout: true, ariaLabel: 'Text of the plan', tabFocusMode: true,
      minimap: { enabled: false }, wordWrap: 'on', fontSize: 14, links: false, wordBasedSuggestions: 'off',
      unusualLineTerminators: 'off', fixedOverflowWidgets: true, scrollBeyondLastLine: false, glyphMargin: false,
      'semanticHighlighting.enabled': true, detectIndentation: false, tabSize: 2, renderLineHighlight: 'all',
      quickSuggestions: true, stickyScroll: { enabled: false }, occurrencesHighlight: 'off', lineNumbersMinChars: 4,
    });
    this.provide(server, loaded.language);
    this.listen();
    talk.tell('textDocument/didOpen', { textDocument: {
      uri: this.uri, languageId: loaded.language, version: this.model.getVersionId(), text: this.text() } });
    this.named();
    this.editor.focus();
  }

  text() { return this.model.getValue(monaco.editor.EndOfLinePreference.LF); }

  get here() { return { textDocument: { uri: this.uri } }; }

  placed(where) { return { ...this.here, position: position(where) }; }

  listen() {
    const { talk, editor, model } = this;
    talk.listeners['textDocument/publishDiagnostics'] = (params) => {
      if (params.version !== model.getVersionId()) return;
      this.reviewed = params.version;
      this.found(params.diagnostics);
    };
    talk.listeners['window/showMessage'] = (params) => this.trouble(params.message);
    talk.listeners['workspace/inlayHint/refresh'] = () => { this.hints.fire(); this.look(); };
    model.onDidChangeContent(() => {
      talk.tell('textDocument/didChange', {
        textDocument: { uri: this.uri, version: model.getVersionId() }, contentChanges: [{ text: this.text() }] });
      stale(true);
      this.comesTo(null, WAITING); // what was said of another text is not said of this one
      this.named();
    });
    editor.onDidChangeCursorPosition((event) => {
      if (event.position.lineNumber !== this.line) this.follow();
      this.line = event.position.lineNumber;
    });
    document.addEventListener('keydown', (event) => {
      if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 's') { event.preventDefault(); this.save(); }
    });
    at('save').onclick = () => this.save();
    at('fixes').onclick = () => this.run('editor.action.quickFix');
    at('tidy').onclick = () => this.run('editor.action.formatDocument');
    at('over').onclick = () => { this.seen = this.theirs; this.save(); };
    at('again').onclick = () => this.reload();
    at('leave').onclick = () => { this.trouble(''); editor.focus(); };
    for (const button of ['fixes', 'tidy']) at(button).disabled = false;
    addEventListener('beforeunload', (event) => { if (this.changed) event.preventDefault(); });
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => monaco.editor.setTheme(theme()));
  }

  run(action) {
    this.editor.focus();
    this.editor.getAction(action).run();
  }

  // ---- what the editor asks the server for ----

  // Nothing, where the text has changed before the answer came.
  asked(method, params) { return this.talk.ask(method, params).catch(() => null); }

  provide(server, language) {
    const { model } = this;
    const { languages } = monaco;
    this.hints = new monaco.Emitter();
    languages.registerHoverProvider(language, { provideHover: async (_, where) => {
      const found = await this.asked('textDocument/hover', this.placed(where));
      return found && { contents: [{ value: found.contents.value }], range: found.range && range(found.range) };
    } });
    languages.registerCompletionItemProvider(language, { triggerCharacters: [' '], provideCompletionItems: async (_, where) => {
      const items = await this.asked('textDocument/completion', this.placed(where));
      return { suggestions: (items ?? []).map((one) => ({
        label: one.label, detail: one.detail, sortText: one.sortText, kind: one.kind - 1, insertText: one.textEdit.newText,
        range: range(one.textEdit.range) })) };
    } });
    languages.registerCodeActionProvider(language, {
      provideCodeActions: async (_, stretch, context) => {
        const found = await this.asked('textDocument/codeAction', { ...this.here, range: {
          start: position(stretch.getStartPosition()), end: position(stretch.getEndPosition()) },
          context: { diagnostics: [], ...(context.only ? { only: [context.only] } : {}) } });
        return { dispose() {}, actions: (found ?? []).map((one) => ({
          title: one.title, kind: one.kind, isPreferred: one.isPreferred, data: one,
          edit: one.edit && edited(one.edit, model) })) };
      },
      resolveCodeAction: async (action) => {
        if (action.edit) return action;
        const found = await this.asked('codeAction/resolve', action.data);
        return found?.edit ? { ...action, edit: edited(found.edit, model) } : action;
      },
    });
    languages.registerDocumentFormattingEditProvider(language, { provideDocumentFormattingEdits: async () => {
      const found = await this.asked('textDocument/formatting', { ...this.here, options: { tabSize: 2, insertSpaces: true } });
      return (found ?? []).map((one) => ({ range: range(one.range), text: one.newText }));
    } });
    languages.registerDocumentSemanticTokensProvider(language, {
      getLegend: () => server.semanticTokensProvider.legend,
      provideDocumentSemanticTokens: async () => {
        const found = await this.asked('textDocument/semanticTokens/full', this.here);
        return { data: new Uint32Array(found?.data ?? []) };
      },
      releaseDocumentSemanticTokens() {},
    });
    languages.registerInlayHintsProvider(language, {
      onDidChangeInlayHints: this.hints.event,
      provideInlayHints: async () => {
        const found = await this.asked('textDocument/inlayHint', { ...this.here, range: {
          start: { line: 0, character: 0 }, end: { line: model.getLineCount(), character: 0 } } });
        return { dispose() {}, hints: (found ?? []).map((one) => ({ label: one.label, tooltip: one.tooltip, paddingLeft: true,
          position: { lineNumber: one.position.line + 1, column: one.position.character + 1 } })) };
      },
    });
    languages.registerDefinitionProvider(language, { provideDefinition: async (_, where) => {
      const found = await this.asked('textDocument/definition', this.placed(where));
      return (found ?? []).filter((one) => one.uri === this.uri).map((one) => ({ uri: model.uri, range: range(one.range) }));
    } });
    languages.registerRenameProvider(language, { provideRenameEdits: async (_, where, newName) => {
      try {
        return edited(await this.talk.ask('textDocument/rename', { ...this.placed(where), newName }), model);
      } catch (error) {
        return { edits: [], rejectReason: error.message };
      }
    } });
  }

  // ---- findings ----

  found(diagnostics) {
    const severity = [0, monaco.MarkerSeverity.Error, monaco.MarkerSeverity.Warning, monaco.MarkerSeverity.Info, monaco.MarkerSeverity.Hint];
    monaco.editor.setModelMarkers(this.model, 'groundlint', diagnostics.map((one) => {
      const { startLineNumber, startColumn, endLineNumber, endColumn } = range(one.range);
      return { startLineNumber, startColumn, endLineNumber, endColumn, message: one.message, source: 'groundlint',
        code: one.code, severity: severity[one.severity],
        relatedInformation: (one.relatedInformation ?? []).filter((other) => other.location.uri === this.uri).map((other) => (
          { resource: this.model.uri, message: other.message, ...range(other.location.range) })) };
    }));
    this.diagnostics = diagnostics;
    this.look();
  }

  listed(unread) {
    const shown = this.diagnostics.filter((one) => one.data && (!unread || one.data.kind === 'unread'));
    const grave = (one) => (one.data.kind === 'waived' ? 9 : ORDER.indexOf(one.data.level)) + (one.data.kind === 'not shown' ? 4 : 0);
    shown.sort((one, other) => grave(one) - grave(other) || one.range.start.line - other.range.start.line);
    const notes = this.diagnostics.filter((one) => !one.data && !unread).map((one) => made('li', 'finding', made('p', '', one.message)));
    at('list').replaceChildren(...notes, ...shown.map((one) => this.entry(one)));
    const counts = [...ORDER, 'waived'].map((word) => [shown.filter((one) => word === (one.data.kind === 'waived' ? 'waived' : one.data.level)).length, word]);
    const rows = counts.filter(([n]) => n).map(([n, word]) => `${n} ${word}`);
    return unread ? `${shown.length} not read; what else is to be said of the plan comes once it can be read.` : rows.join(', ');
  }

  entry(one) {
    const line = one.range.start.line + 1;
    const go = made('button', 'go', `Line ${line}`);
    go.onclick = () => this.go(one.range);
    const rule = made('button', 'go', 'Rule ', made('code', '', one.code));
    rule.onclick = () => this.explain(one.code);
    for (const button of [go, rule]) button.type = 'button';
    const ruled = ['broken', 'not shown', 'waived'].includes(one.data.kind);
    const kind = KINDS[one.data.kind] ?? `, ${one.data.kind}`;
    return made('li', `finding ${one.data.level}`,
      made('p', '', made('span', 'level', `${one.data.level.toUpperCase()}${kind}`), ' ', go, ' ', ruled ? rule : ''),
      made('p', '', one.message));
  }

  async explain(rule) {
    const page = await this.asked('groundlint/rule', { ...this.here, rule });
    at('rule-words').textContent = page || 'The books in use have no such rule any more.';
    at('rule').showModal();
  }

  go(place) {
    this.editor.setPosition(range(place).getStartPosition());
    this.editor.revealLineInCenterIfOutsideViewport(place.start.line + 1);
    this.editor.focus();
  }

  // ---- what is shown beside the text ----

  follow() {
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.look(), QUIET);
  }

  async look() {
    if (this.reviewed !== this.model.getVersionId()) return;
    const found = await this.asked('groundlint/picture', this.placed(this.editor.getPosition()));
    if (found?.version !== this.model.getVersionId()) return;
    const { status, picture } = found;
    stale(false);
    if (this.shown !== this.diagnostics) { // what was listed stays where it was scrolled to
      this.shown = this.diagnostics;
      const counts = this.listed(found.unread && !found.failure);
      put('tally', found.failure ? '' : counts || (status ? 'None.' : 'None so far.'));
    }
    this.comesTo(status, found.failure ? 'Not reviewed.' : found.note || WAITING, found.unread);
    for (const part of ['line', 'exposure']) at(part).hidden = !picture;
    if (picture) this.draw(picture);
  }

  comesTo(status, otherwise, unread) {
    at('status').className = `status ${status ? status.word.replace(' ', '-') : 'waiting'}`;
    put('said', status ? status.said : otherwise);
    at('counts').textContent = status && !unread ? 'Rules: ' + status.counts.map(([word, n]) => `${n} ${word}`).join(', ') : '';
  }

  draw(picture) {
    at('title').textContent = picture.title;
    const parser = new DOMParser();
    at('drawing').replaceChildren(...picture.drawings.map((one) => (
      document.importNode(parser.parseFromString(policy.createHTML(one), 'image/svg+xml').documentElement, true))));
    at('words').replaceChildren(...picture.words.map((one) => made('li', '', one)));
    at('exposed').hidden = picture.exposed.length === 0;
    at('nobody').textContent = picture.exposed.length ? '' : 'Nobody is in place at this step.';
    at('rows').replaceChildren(...picture.exposed.map((one) => made('tr', one.verdict === 'over the limit' ? 'mark' : '',
      ...[one.worker, one.volts, one.limit, one.why ? `${one.verdict}: ${one.why}` : one.verdict, one.between, one.source]
        .map((words) => made('td', '', words)))));
    at('limit').textContent = picture.missing ? `No voltage is shown: ${picture.missing}.` : picture.limit && `Limit: ${picture.limit}.`;
    at('worst').textContent = picture.worst && `Worst of the plan: ${picture.worst}.`;
  }

  // ---- the file ----

  get changed() { return this.model.getAlternativeVersionId() !== this.saved; }

  named() {
    at('state').textContent = this.changed ? CHANGED : SAVED;
    at('save').disabled = !this.changed;
    document.title = `${this.changed ? '* ' : ''}${at('name').textContent} - groundlint desk`;
  }

  async save() {
    if (this.saving) return;
    this.saving = true; // a second one would find the file changed by the first
    const version = this.model.getAlternativeVersionId();
    const found = await this.talk.ask('groundlint/save', { text: this.text(), seen: this.seen }).catch((error) => (
      { failure: error.message }));
    this.saving = false;
    if (found.failure) return this.trouble(`Not saved: ${found.failure}.`);
    if (found.changed !== undefined) {
      this.theirs = found.changed;
      const gone = found.changed === '';
      return this.trouble(gone ? 'Not saved: the file is gone.' : 'Not saved: the file was changed by somebody else since it was read here.',
        gone ? ['over'] : ['over', 'again']);
    }
    this.seen = found.seen;
    this.saved = version;
    this.trouble('');
    this.named();
    this.talk.tell('textDocument/didSave', this.here);
  }

  async reload() {
    const loaded = await this.talk.ask('groundlint/load', {});
    if (loaded.failure) return this.trouble(`Not read: ${loaded.failure}.`, ['over', 'again']);
    this.seen = loaded.seen;
    this.model.pushEditOperations([], [{ range: this.model.getFullModelRange(), text: loaded.text }], () => null);
    this.saved = this.model.getAlternativeVersionId();
    this.trouble('');
    this.named();
  }

  trouble(words, buttons = []) { trouble(words, buttons); }
}

function stale(so) {
  at('side').classList.toggle('stale', so);
  at('side').setAttribute('aria-busy', so);
}

function trouble(words, buttons = []) {
  at('trouble').hidden = !words;
  at('trouble-words').textContent = words;
  for (const button of ['over', 'again']) at(button).hidden = !buttons.includes(button);
}

// ---- colours of the page in the editor ----

function theme() {
  const dark = matchMedia('(prefers-color-scheme: dark)').matches;
  const style = getComputedStyle(document.documentElement);
  const colour = (name) => style.getPropertyValue(`--${name}`).trim();
  const rule = (token, name, fontStyle) => ({ token, foreground: colour(name).slice(1), fontStyle });
  monaco.editor.defineTheme('desk', {
    base: dark ? 'vs-dark' : 'vs', inherit: true,
    rules: [rule('', 'text'), rule('keyword', 'text', 'bold'), rule('comment', 'muted', 'italic'), rule('string', 'good'),
      rule('number', 'link'), rule('variable', 'text'), rule('operator', 'muted'), rule('type', 'link'), rule('property', 'text')],
    colors: {
      'editor.background': colour('page'), 'editor.foreground': colour('text'), 'editorLineNumber.foreground': colour('muted'),
      'editorLineNumber.activeForeground': colour('text'), 'editor.lineHighlightBackground': colour('band'),
      'editor.lineHighlightBorder': colour('band'), 'editorError.foreground': colour('bad'),
      'editorWarning.foreground': colour('open'), 'editorInfo.foreground': colour('link'),
      'editorInlayHint.background': colour('page'), 'editorInlayHint.foreground': colour('muted'), focusBorder: colour('link'),
    },
  });
  return 'desk';
}

// ---- begin ----

require.config({ paths: { vs: '/vs' }, trustedTypesPolicy: policy });
require(['vs/editor/editor.main'], () => {
  self.MonacoEnvironment = { getWorker: () => new Worker(policy.createScriptURL('/editor.worker.js')) };
  const talk = new Talk(new WebSocket(`ws://${location.host}/talk`));
  talk.gone = (event) => {
    at('state').textContent = 'cut off';
    stale(true);
    trouble(event.code === 4001 ? 'This page was opened again elsewhere, and is cut off here. What is not saved here is not saved.'
      : '`groundlint desk` has ended. What is not saved is not saved: copy it from here before you close the page.');
  };
  talk.socket.onopen = async () => {
    try {
      const server = await talk.ask('initialize', { processId: null, rootUri: null, capabilities: {
        workspace: { workspaceEdit: { documentChanges: true }, inlayHint: { refreshSupport: true } },
        textDocument: { hover: { contentFormat: ['markdown'] }, publishDiagnostics: { versionSupport: true, relatedInformation: true, dataSupport: true } } } });
      talk.tell('initialized', {});
      const loaded = await talk.ask('groundlint/load', {});
      if (loaded.failure) throw new Error(loaded.failure);
      at('name').textContent = loaded.name;
      at('caution').textContent = loaded.caution;
      for (const id of ['plan', 'markdown']) monaco.languages.register({ id });
      new Page(talk, loaded, server.capabilities);
    } catch (error) {
      trouble(`The plan can't be shown: ${error.message}.`);
    }
  };
}, () => trouble('The editor could not be loaded.'));
