/* The query editor: lifts the text area of the SPARQL page. Without it the text area works as it
   stands. It lives in a shadow root, so that its styles are adopted and the page's
   Content-Security-Policy needs no exception. */
import { EditorState } from "@codemirror/state";
import {
  EditorView, drawSelection, highlightActiveLine, highlightSpecialChars, keymap, lineNumbers,
} from "@codemirror/view";
import { defaultKeymap, history, historyKeymap } from "@codemirror/commands";
import { HighlightStyle, bracketMatching, syntaxHighlighting } from "@codemirror/language";
import { tags } from "@lezer/highlight";
import { sparql } from "codemirror-lang-sparql";

// Contrast on white at least 4.5 to 1.
const inks = HighlightStyle.define([
  { tag: [tags.keyword, tags.operatorKeyword], color: "#1d4a52", fontWeight: "bold" },
  { tag: [tags.variableName, tags.special(tags.variableName)], color: "#8a3b12" },
  { tag: [tags.string, tags.literal], color: "#1b5233" },
  { tag: [tags.number, tags.bool], color: "#2d4374" },
  { tag: [tags.comment, tags.lineComment], color: "#55605f", fontStyle: "italic" },
  { tag: [tags.namespace, tags.propertyName, tags.typeName, tags.url], color: "#155a68" },
]);
const look = EditorView.theme({
  "&": { fontSize: ".92rem", background: "#fff", border: "1px solid #7d8785", borderRadius: "4px" },
  "&.cm-focused": { outline: "3px solid #8a3b12", outlineOffset: "2px" },
  ".cm-scroller": { fontFamily: "ui-monospace, 'DejaVu Sans Mono', Consolas, monospace",
    lineHeight: "1.45", minHeight: "14rem", maxHeight: "32rem" },
  ".cm-gutters": { background: "#faf8f3", color: "#55605f", border: "0" },
  ".cm-activeLine": { background: "#f3f6f5" },
});

for (const area of document.querySelectorAll("textarea[data-sparql]")) {
  const holder = document.createElement("div");
  holder.className = "editor";
  area.before(holder);
  const root = holder.attachShadow({ mode: "open" });
  const send = () => { area.form.requestSubmit(); return true; };
  const view = new EditorView({
    root,
    parent: root,
    state: EditorState.create({
      doc: area.value,
      extensions: [
        lineNumbers(), highlightSpecialChars(), history(), drawSelection(), highlightActiveLine(),
        bracketMatching(), syntaxHighlighting(inks), sparql(), look, EditorView.lineWrapping,
        keymap.of([{ key: "Mod-Enter", run: send }, ...defaultKeymap, ...historyKeymap]),
        EditorView.contentAttributes.of({ "aria-label": "Query", spellcheck: "false" }),
        // Typing over coloured text would let the browser keep its look by a style attribute, which
        // the policy of the page forbids; so what replaces a selection is put in by the editor.
        EditorView.domEventHandlers({
          beforeinput: (event, view) => {
            if (event.inputType !== "insertText" || !event.data || view.composing) return false;
            if (view.state.selection.main.empty) return false;
            event.preventDefault();
            view.dispatch(view.state.update(view.state.replaceSelection(event.data),
              { scrollIntoView: true, userEvent: "input.type" }));
            return true;
          },
        }),
        EditorView.updateListener.of((update) => {
          if (update.docChanged) area.value = update.state.doc.toString();
        }),
      ],
    }),
  });
  area.hidden = true;
  area.form.addEventListener("formdata", () => { area.value = view.state.doc.toString(); });
}
