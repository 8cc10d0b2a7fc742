/*
 * Copyright (c) the carve authors. MIT License.
 *
 * A JupyterLab extension that runs a notebook once when it is opened, if the notebook asks for it
 * with the metadata {"carve": {"run_on_open": true}}.
 *
 * Written by hand and served as it is. JupyterLab loads an extension as a module-federation
 * container: an object in window._JUPYTERLAB with init() and get(). A bundler would write that
 * object for us, and would bring npm with it; these lines need neither, because they use only
 * what hangs on the application object and import nothing.
 */
(() => {
  'use strict';

  const NAME = 'carve-lab';
  const RUN = `${NAME}:run-notebook`;

  function asksToRun(context) {
    const ours = context.model.getMetadata('carve');
    return ours !== undefined && ours !== null && ours.run_on_open === true;
  }

  // Jupyter trusts a notebook that was written or run by this user on this machine. One that came
  // with somebody else's design is not trusted, and opening it must not run their code unasked.
  function isTrusted(context) {
    return Array.from(context.model.cells).every(cell => cell.type !== 'code' || cell.trusted);
  }

  // A reloaded page or a second tab finds its kernel, and in it the dials as the builder left them.
  // Running the cells again would turn them back, so a kernel is run once.
  const memory = window.localStorage;
  const keyOf = kernel => `${NAME}:${kernel.id}`;
  const hasRun = kernel => memory.getItem(keyOf(kernel)) !== null;
  const remember = kernel => memory.setItem(keyOf(kernel), 'run');

  // restored: every extension, that of ipywidgets too, is active.
  // info: the kernel has answered, so it will also answer the cells.
  async function readyKernel(app, panel, context) {
    await Promise.all([app.restored, context.ready, panel.revealed]);
    await context.sessionContext.ready;
    const session = context.sessionContext.session;
    if (!session || !session.kernel) {
      return null;
    }
    await session.kernel.info;
    return session.kernel;
  }

  async function run(app, panel, context) {
    const session = context.sessionContext.session;
    if (session && session.kernel) {
      remember(session.kernel);
    }
    app.shell.activateById(panel.id);
    await app.commands.execute('notebook:run-all-cells');
    panel.content.activeCellIndex = 0;
    // The run has marked the notebook as changed. Unless that is saved, closing the browser tab
    // asks the builder about changes they never made.
    if (context.contentsModel && context.contentsModel.writable) {
      await context.save();
    }
  }

  async function ask(app, panel) {
    await app.commands.execute('apputils:notify', {
      message: 'This notebook was not written here. Run it only if you trust whoever wrote it.',
      type: 'warning',
      options: {
        autoClose: false,
        actions: [{ label: 'Run it', commandId: RUN, args: { id: panel.id } }]
      }
    });
  }

  async function onOpen(app, panel, context) {
    const kernel = await readyKernel(app, panel, context);
    if (kernel === null || !asksToRun(context)) {
      return;
    }
    // The file list would take a quarter of the window from the picture.
    app.shell.collapseLeft();
    if (!hasRun(kernel)) {
      await (isTrusted(context) ? run(app, panel, context) : ask(app, panel));
    }
  }

  const plugin = {
    id: `${NAME}:run-on-open`,
    description: 'Runs a carve notebook once when it is opened.',
    autoStart: true,
    activate: app => {
      const open = new Map();
      app.commands.addCommand(RUN, {
        label: 'Run this carve notebook',
        describedBy: { args: { type: 'object', properties: { id: { type: 'string' } } } },
        execute: async args => {
          const found = open.get(args.id);
          if (found) {
            await run(app, found.panel, found.context);
          }
        }
      });
      app.docRegistry.addWidgetExtension('Notebook', {
        createNew: (panel, context) => {
          open.set(panel.id, { panel, context });
          panel.disposed.connect(() => open.delete(panel.id));
          onOpen(app, panel, context).catch(reason => {
            // A panel closed while it was still getting ready is no fault.
            if (!panel.isDisposed) {
              console.error(`${NAME}: the notebook was not run.`, reason);
            }
          });
        }
      });
    }
  };

  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB[NAME] = {
    init: async () => undefined,
    get: async () => () => ({ __esModule: true, default: plugin })
  };
})();
